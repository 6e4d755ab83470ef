import { describe, expect, it } from 'vitest';
import { checkAdvice } from '../../../server/contract/check-advice.js';
import { checkRows } from '../../../server/contract/check-rows.js';
import type { Plan } from '../../../server/contract/plan.js';
import type { Report } from '../../../server/contract/report.js';
import { gapPlan, ovalReport } from '../../support/bench-plans.js';

const inches = { unit: 'in', denominator: 16 } as const;

/** The plan's clearances as the laid track has them, on all four sides. */
function planFor(report: Report, lengthsMm: readonly number[], more: Partial<Plan> = {}): Plan {
  const plan = gapPlan(lengthsMm);
  const clearances = report.clearances.map(({ side, distance }) => ({ side, distance: { ...distance } }));
  return { ...plan, shift: { R1: [0, 0] }, predicted: { ...plan.predicted, clearances }, ...more };
}

function moved(report: Report, by: Record<string, number>): Report {
  const clearances = report.clearances.map((c) => ({
    ...c,
    distance: { ...c.distance, value: c.distance.value + (by[c.side] ?? 0) },
  }));
  return { ...report, clearances };
}

function adviceFor(plan: Plan, report: Report) {
  const rows = checkRows(plan, report);
  const { mismatch, cures } = checkAdvice(plan, report, rows, inches);
  return { mismatch, cureOf: (name: string) => cures.get(rows.find((r) => r.name === name) as (typeof rows)[number]) };
}

describe('advice after the cuts', () => {
  it('says that a filler is not in place where the gap is as wide as before, never to cut it longer', () => {
    const report = ovalReport([51.1, 0.4]);
    const { cureOf, mismatch } = adviceFor(planFor(report, [50.8, 101.6]), report);
    expect(mismatch).toBeNull();
    expect(cureOf('Gap 1')).toMatch(/^F1 is not in place yet/);
    expect(cureOf('Gap 1')).not.toMatch(/shim|longer/);
  });

  it('leaves open which of two alike fillers is missing', () => {
    const report = ovalReport([51.1, 50.9]);
    expect(adviceFor(planFor(report, [50.8, 50.8]), report).cureOf('Gap 2')).toMatch(/^F1 or F2 is not in place/);
  });

  it('names the filler whose gap was as wide where another one differs by more than is not known', () => {
    const report = ovalReport([49.9, 52]);
    const { cureOf } = adviceFor(planFor(report, [49.6, 51.7]), report);
    expect(cureOf('Gap 1')).toMatch(/^F1 is not in place/);
    expect(cureOf('Gap 2')).toMatch(/^F2 is not in place/);
  });

  it('advises a shim for a narrow opening only', () => {
    const report = ovalReport([4]);
    const plan = planFor(report, [101.6]);
    expect(adviceFor(plan, report).cureOf('Joint 1')).toMatch(/^Push the sections together.*shim/);
    const wide = ovalReport([40]);
    const cure = adviceFor(plan, wide).cureOf('Gap 1');
    expect(cure).toMatch(/^Too wide/);
    expect(cure).not.toMatch(/shim|not in place yet/);
  });

  it('slides the run where opposite sides are off by about as much the other way, and files nothing', () => {
    const report = ovalReport([0.3]);
    const { cureOf } = adviceFor(planFor(report, [50.8]), moved(report, { A: -31.75, C: 33.3 }));
    for (const side of ['side A', 'side C']) {
      expect(cureOf(side)).toMatch(/slide run R1 about 1 1\/4 in towards side C/);
      expect(cureOf(side)).not.toMatch(/fil(e|ler)\b/);
    }
    expect(adviceFor(planFor(report, [50.8]), moved(report, { B: 12, D: -12 })).cureOf('side B')).toMatch(
      /slide run R1 about 1\/2 in towards side B/,
    );
  });

  it('speaks of fillers only where the track takes more or less room between both sides', () => {
    const report = ovalReport([0.3]);
    const plan = planFor(report, [50.8]);
    expect(adviceFor(plan, moved(report, { B: -5, D: -5 })).cureOf('side B')).toMatch(
      /sides B and D the track takes 3\/8 in more room.*file only one that is longer than the cut sheet says/,
    );
    expect(adviceFor(plan, moved(report, { B: 5, D: 5 })).cureOf('side D')).toMatch(/3\/8 in less room/);
  });

  it('judges one side alone neither long nor short', () => {
    const report = moved(ovalReport([0.3]), { A: -10 });
    const plan = planFor(ovalReport([0.3]), [50.8]);
    const alone = { ...report, clearances: report.clearances.filter((c) => c.side !== 'C') };
    expect(adviceFor(plan, alone).cureOf('side A')).toMatch(/^Nearer than planned by 3\/8 in.*cut and file nothing/);
  });

  it('judges no length before the fillers are in place', () => {
    const report = ovalReport([51.1]);
    const cure = adviceFor(planFor(report, [50.8]), moved(report, { B: -5, D: -5 })).cureOf('side B');
    expect(cure).toBe('Not to be judged before F1 is in place.');
  });

  it('says that the photo shows other track instead of giving advice', () => {
    const report = ovalReport([0.3]);
    const plan = planFor(report, [50.8]);
    const far = adviceFor(plan, moved(report, { B: 80, D: 60 }));
    expect(far.mismatch).toMatch(/does not match the plan: between sides B and D the track is far shorter/);
    expect(far.cureOf('side B')).toBeUndefined();
    const twoRuns = { ...report, runs: [...report.runs, { ...report.runs[0], id: 'R2' }] };
    expect(adviceFor(plan, twoRuns).mismatch).toMatch(/for 1 run, and 2 runs were measured/);
    expect(adviceFor(plan, report).mismatch).toBeNull();
  });
});
