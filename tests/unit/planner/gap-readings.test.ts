import { describe, expect, it } from 'vitest';
import { findReadings, reportByRule } from '../../../server/contract/gap-readings.js';
import { planSchema } from '../../../server/contract/plan.js';
import type { Report } from '../../../server/contract/report.js';
import { type GapReading, wishesSchema } from '../../../server/contract/wishes.js';
import { planFillers } from '../../../server/planner/plan-fillers.js';
import { checkPlan } from '../../support/check-plan.js';
import { ovalReport, stockOf, wishesOf } from './plan-scene.js';

const s = (straight: number) => ({ straight });
const gap = (mm: number) => ({ gap: mm });

const report = ovalReport([s(254), gap(50.8), s(127)], [s(254), s(127), gap(50.8)]);
const openJoints = report.joints.filter((j) => j.open);

/** A reading at the first or second open gap, as far beside its place as said. */
function reading(index: number, lengthMm: number, more: Partial<GapReading> = {}): GapReading {
  const { id, at } = openJoints[index];
  return { joint: id, at, lengthMm, ...more };
}

/** Plans in whole millimetres; the checker of plans looks at the report with the readings in it. */
async function planBy(gapReadings: readonly GapReading[], on: Report = report, more: Record<string, unknown> = {}) {
  const wishes = wishesOf({ stepMm: 1, gapReadings, ...more });
  const stock = stockOf([254, 254]);
  const planned = await planFillers(on, wishes, stock, { alternatives: 1, timeLimitMs: 20_000 });
  if (!planned.ok) throw new Error(planned.problem.code);
  const byRule = reportByRule(on, findReadings(on, gapReadings).ruled);
  for (const plan of [planned.value, ...planned.value.alternatives]) {
    expect(checkPlan(byRule, wishes, stock, plan)).toEqual([]);
  }
  return planned.value;
}

const codes = (plan: { warnings: readonly { code: string }[] }) => plan.warnings.map((w) => w.code);

describe('a gap read with a rule', () => {
  it('counts with the photo where both agree and alone where not: filler, closing and ± follow', async () => {
    const photo = await planBy([]);
    expect(photo.fillers.map((f) => f.lengthMm)).toEqual([51, 51]);
    expect(photo.byRule).toBeUndefined();
    const plan = await planBy([reading(0, 54), reading(1, 50.9, { uMm: 0.1 })]);
    expect(plan.fillers.map((f) => f.lengthMm)).toEqual([54, 51]);
    // Weights 4 : 1 of u = 0.1 and 0.2.
    const both = { value: 50.88, u: expect.closeTo(0.2 / Math.sqrt(5), 4) };
    expect(plan.fillers.map((f) => f.gap)).toEqual([{ value: 54, u: 0.3 }, both]);
    // Each cut adds its own 0.3 mm.
    expect(plan.predicted.closing[0].uMm).toBeCloseTo(Math.hypot(0.3, 0.2 / Math.sqrt(5), 0.3, 0.3), 3);
    expect(Math.hypot(plan.predicted.closing[0].dxMm, plan.predicted.closing[0].dyMm)).toBeCloseTo(0.12, 3);
    const byPhoto = { value: 50.8, u: 0.2 };
    expect(plan.byRule).toEqual([
      { joint: 'R1-J1', length: { value: 54, u: 0.3 }, rule: { value: 54, u: 0.3 }, photo: byPhoto },
      { joint: 'R1-J8', length: both, rule: { value: 50.9, u: 0.1 }, photo: byPhoto },
    ]);
    expect(planSchema.parse(plan).byRule).toEqual(plan.byRule);
  });

  it('counts in sums of gaps that slide together, and in the other ways to plan', async () => {
    const two = ovalReport([s(254), gap(50.8), s(127), gap(76.2)], [s(254), s(127), s(127)]);
    const [first] = two.joints.filter((j) => j.open);
    const readings = [{ joint: first.id, at: first.at, lengthMm: 53.8 }];
    const plan = await planBy(readings, two, { way: 'slide-together' });
    expect(plan.fillers.map((f) => [f.lengthMm, f.gap?.value])).toEqual([[130, 130]]);
    expect(plan.fillers[0].gap?.u).toBeCloseTo(Math.hypot(0.3, 0.2), 3);
    for (const other of plan.alternatives) expect(other.byRule).toEqual(plan.byRule);
    expect(plan.alternatives).not.toEqual([]);
  });

  it('cures a gap that the photo does not know well enough to cut for, and says so', async () => {
    const unsure = structuredClone(report);
    for (const joint of unsure.joints) if (joint.open) joint.gap.u = 1.4;
    const photo = await planBy([], unsure);
    expect(photo.warnings.find((w) => w.code === 'too-uncertain-to-cut')?.message).toContain('lay a steel rule there');
    expect(codes(await planBy([reading(0, 52), reading(1, 50)], unsure))).not.toContain('too-uncertain-to-cut');
  });

  it('that confirms a good photo keeps no one from cutting, however fine the step', async () => {
    expect(codes(await planBy([], report, { stepMm: 0.5 }))).toEqual([]);
    expect(codes(await planBy([reading(0, 51), reading(1, 50.5)], report, { stepMm: 0.5 }))).toEqual([]);
  });

  it('is no finer than a rule tells where it counts alone: the plan says so, and what would help', async () => {
    const plan = await planBy([reading(0, 54)], report, { stepMm: 0.5 });
    const words = plan.warnings.filter((w) => w.code === 'too-uncertain-to-cut').map((w) => w.message);
    expect(words).toHaveLength(1);
    expect(words[0]).toMatch(/^Gap 1 by the rule is only known to ± 0\.6 mm .*choose a coarser step.*once they agree/);
    expect(words[0]).not.toContain('take one more photo');
  });

  it('is not asked for again where a poor photo leaves both together too unsure for the step', async () => {
    const unsure = structuredClone(report);
    for (const joint of unsure.joints) if (joint.open) joint.gap.u = 1.4;
    const plan = await planBy([reading(0, 51)], unsure, { stepMm: 0.5 });
    const words = plan.warnings.filter((w) => w.code === 'too-uncertain-to-cut').map((w) => w.message);
    expect(words).toHaveLength(2);
    expect(words[0]).toMatch(
      /^Gap 1, though checked with the rule, is only known to ± 0\.6 mm .*coarser step; or take one/,
    );
    expect(words[1]).toMatch(/^Gap 2 is only known to ± 2\.7 mm .*lay a steel rule there/);
  });

  it('takes part in what the three rails looked like in the photo only by its ±', async () => {
    const aslant = structuredClone(report);
    const [joint] = aslant.joints.filter((j) => j.open);
    joint.rails = { left: { value: 49, u: 0.2 }, centre: { value: 54, u: 0.2 }, right: { value: 49.4, u: 0.2 } };
    const plan = await planBy([reading(0, 51)], aslant);
    // The photo's own ± has them in: 4.8 mm off the line through the outer two.
    const photoU = 4.8 * Math.sqrt(2 / 9);
    expect(plan.byRule?.[0].photo.u).toBeCloseTo(photoU, 3);
    expect(plan.fillers[0].gap?.u).toBeCloseTo((0.3 * photoU) / Math.hypot(0.3, photoU), 3);
  });
});

describe('where rule and photo differ', () => {
  it('by more than both ± allow, the plan names the gap, both lengths and what to do, and goes by the rule', async () => {
    const plan = await planBy([reading(1, 54)]);
    expect(plan.fillers.map((f) => f.lengthMm)).toEqual([51, 54]);
    const [warning] = plan.warnings;
    expect(warning.code).toBe('rule-against-photo');
    expect(warning.message).toContain(
      'Gap 2: the rule says 54.0 mm (2 1/8 in) ± 0.6 mm (0.03 in), the photo 50.8 mm (2 in) ± 0.4 mm (0.02 in).',
    );
    expect(warning.message).toMatch(/lay the rule there again.*track was moved.*measure again/);
  });

  it('by less, nothing is said, and both count', async () => {
    const allowedMm = 1.96 * Math.hypot(0.3, 0.2);
    const agrees = await planBy([reading(0, 50.8 + allowedMm - 0.01)]);
    expect(codes(agrees)).not.toContain('rule-against-photo');
    // Weights 4 : 9 of u = 0.3 and 0.2.
    expect(agrees.fillers[0].gap?.value).toBeCloseTo(50.8 + ((allowedMm - 0.01) * 4) / 13, 3);
    expect(codes(await planBy([reading(0, 50.8 + allowedMm + 0.01)]))).toContain('rule-against-photo');
    expect(codes(await planBy([reading(0, 50.8 - allowedMm - 0.01)]))).toContain('rule-against-photo');
  });
});

describe('measured anew', () => {
  const movedBy = (dx: number, dy: number): Report => ({
    ...report,
    joints: report.joints.map((j, i) => ({ ...j, id: `new-${i}`, at: [j.at[0] + dx, j.at[1] + dy] })),
  });

  it('a reading is found again by its place, whatever the joint is called then', async () => {
    const plan = await planBy([reading(0, 54)], movedBy(12, -9));
    expect(plan.byRule?.map((r) => r.joint)).toEqual(['new-0']);
    expect(plan.fillers.map((f) => f.lengthMm)).toEqual([54, 51]);
    expect(codes(plan)).not.toContain('reading-without-gap');
  });

  it('one that is too far from any open gap does not count, and the plan says which and what to do', async () => {
    const plan = await planBy([reading(0, 54), reading(1, 48.5)], movedBy(0, 51));
    expect(plan.byRule).toBeUndefined();
    expect(plan.fillers.map((f) => f.lengthMm)).toEqual([51, 51]);
    expect(plan.warnings.find((w) => w.code === 'reading-without-gap')?.message).toBe(
      'Read with the rule, but no open gap is measured there any more: 54.0 mm (2 1/8 in) near side A, ' +
        '48.5 mm (1 29/32 in) near side C. So they do not count. Take them out, or lay the rule again where a gap is still open.',
    );
  });

  it('one whose gap was closed does not count', async () => {
    const closed: Report = {
      ...report,
      joints: report.joints.map((j) => (j.id === 'R1-J1' ? { ...j, open: false, gap: { value: 0, u: 0.2 } } : j)),
    };
    const found = findReadings(closed, [reading(0, 54), reading(1, 52)]);
    expect(found.lost).toEqual([reading(0, 54)]);
    expect(found.ruled.map((r) => r.joint)).toEqual(['R1-J8']);
    expect(reportByRule(closed, found.ruled).joints.find((j) => j.id === 'R1-J1')?.gap.value).toBe(0);
  });

  it('of two readings at one gap the nearer counts, and the other is said', () => {
    const off = reading(0, 60, { at: [openJoints[0].at[0] + 30, openJoints[0].at[1]] });
    const found = findReadings(report, [off, reading(0, 54)]);
    expect(found.ruled).toMatchObject([{ joint: 'R1-J1', length: { value: 54 } }]);
    expect(found.lost).toEqual([off]);
  });
});

describe('readings among the wishes', () => {
  const wishes = (gapReadings: unknown) =>
    wishesSchema.safeParse({ format: 'gapwright-wishes/1', gapReadings }).success;

  it('may be missing, as in every file of before', () => {
    expect(wishesSchema.parse({ format: 'gapwright-wishes/1' })).not.toHaveProperty('gapReadings');
  });

  it.each([0, -3, 1000.5, Number.NaN, '54'])('do not take %s for a length', (lengthMm) => {
    expect(wishes([{ joint: 'J1', at: [1, 2], lengthMm }])).toBe(false);
    expect(wishes([{ joint: 'J1', at: [1, 2], lengthMm: 54 }])).toBe(true);
  });

  it('name the joint and its place', () => {
    expect(wishes([{ at: [1, 2], lengthMm: 54 }])).toBe(false);
    expect(wishes([{ joint: 'J1', lengthMm: 54 }])).toBe(false);
  });
});
