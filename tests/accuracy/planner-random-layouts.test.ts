import { describe, expect, it } from 'vitest';
import { planFillers } from '../../server/planner/plan-fillers.js';
import { checkPlan } from '../support/check-plan.js';
import { makeReport } from '../support/make-report.js';
import { randomLayout } from '../support/random-layout.js';
import { randomPlanCase } from '../support/random-plan-case.js';
import { randomNestedLayout, randomWishes } from '../support/random-wishes.js';
import { stockOf, wishesOf } from '../unit/planner/plan-scene.js';

const donors = [254, 222, 254, 222, 254, 222, 254, 222, 254, 222];
const options = { alternatives: 0, timeLimitMs: 10_000 };

/** Set GAPWRIGHT_PLAN_CASES=1000 to try that many cases of every kind. */
const casesOfEveryKind = Number(process.env['GAPWRIGHT_PLAN_CASES'] ?? 24);

/** Plans layouts one after the other and lays each plan out again with the independent checker. */
async function faultsOf(
  seeds: readonly number[],
  noise: { lengthMm?: number; headingDeg?: number },
): Promise<string[]> {
  const faults: string[] = [];
  const stock = stockOf(donors, [{ lengthMm: 127, count: 6 }]);
  const wishes = wishesOf();
  // Ends that are off by the noise make rows bow.
  const sideToleranceMm = noise.lengthMm === undefined ? 0.1 : 6 * noise.lengthMm;
  let unmet = 0;
  for (const seed of seeds) {
    const report = makeReport(randomLayout(seed), { seed, ...noise });
    const planned = await planFillers(report, wishes, stock, options);
    if (!planned.ok) faults.push(`seed ${seed}: ${JSON.stringify(planned.problem)}`);
    else {
      faults.push(...checkPlan(report, wishes, stock, planned.value, sideToleranceMm).map((f) => `seed ${seed}: ${f}`));
      if (planned.value.unmet.length > 0) unmet++;
    }
  }
  // Material is ample: what stays open must be rare, or the planner gives up too early.
  expect(unmet).toBeLessThanOrEqual(seeds.length / 50);
  return faults;
}

const seedsFrom = (first: number, count: number) => Array.from({ length: count }, (_, i) => first + i);

describe('plans for random layouts, laid out again from scratch', () => {
  it('is right on 750 layouts: open and closed, one to three runs, any heading', async () => {
    expect(await faultsOf(seedsFrom(0, 750), {})).toEqual([]);
  }, 300_000);

  it('is right on 250 layouts measured with noise: a slightly wrong heading makes no loop impossible', async () => {
    expect(await faultsOf(seedsFrom(5000, 250), { lengthMm: 0.3, headingDeg: 0.3 })).toEqual([]);
  }, 300_000);

  it('is right on 60 nested loops near the edges of their table, with wishes', async () => {
    const faults: string[] = [];
    const stock = stockOf([254, 222, 254, 222, 254, 222], [{ lengthMm: 127, count: 2 }]);
    for (const seed of seedsFrom(0, 60)) {
      const report = makeReport(randomNestedLayout(seed), { seed });
      const wishes = randomWishes(seed, report);
      const planned = await planFillers(report, wishes, stock, { ...options, timeLimitMs: 1500 });
      if (!planned.ok) faults.push(`seed ${seed}: ${JSON.stringify(planned.problem)}`);
      else faults.push(...checkPlan(report, wishes, stock, planned.value).map((f) => `seed ${seed}: ${f}`));
    }
    expect(faults).toEqual([]);
  }, 300_000);

  it('is right in cases of every kind: tables with inside corners, other settings, scarce stock, wishes that cannot be met', async () => {
    const faults: string[] = [];
    let planned = 0;
    for (const seed of seedsFrom(1, casesOfEveryKind)) {
      const { report, wishes, stock, noiseMm } = randomPlanCase(seed);
      const answer = await planFillers(report, wishes, stock, { alternatives: 1, timeLimitMs: 500 });
      if (!answer.ok) {
        // The one thing that may be lacking is something to fill an open gap with.
        if (answer.problem.code !== 'no-donors') faults.push(`seed ${seed}: ${JSON.stringify(answer.problem)}`);
        continue;
      }
      planned++;
      for (const plan of [answer.value, ...answer.value.alternatives]) {
        faults.push(...checkPlan(report, wishes, stock, plan, 0.1 + 7 * noiseMm).map((f) => `seed ${seed}: ${f}`));
      }
    }
    expect(faults).toEqual([]);
    expect(planned).toBeGreaterThan(casesOfEveryKind * 0.9);
  }, 1_200_000);
});
