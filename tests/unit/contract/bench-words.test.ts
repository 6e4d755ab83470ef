import { describe, expect, it } from 'vitest';
import { cuttingSteps, readInAllGaps } from '../../../server/contract/bench-words.js';
import { gapPlan, gapReport, ruledPlan } from '../../support/bench-plans.js';

const lengths = [50.8, 76.2];
const plan = gapPlan(lengths);
const report = gapReport(lengths);
const one = ruledPlan(plan, 'J1', 51.5);
const both = ruledPlan(one, 'J2', 76.5);
const inches = { unit: 'in', denominator: 16 } as const;

describe('the steps at the bench', () => {
  it('know whether a rule was laid in every gap, with the report and without it', () => {
    for (const known of [report, null]) {
      expect([plan, one, both].map((p) => readInAllGaps(p, known))).toEqual([false, false, true]);
    }
  });

  it('do not count a gap as read whose filler closes more than that gap', () => {
    const wider = both.fillers.map((f, i) => (i === 0 ? { ...f, gap: { value: 140, u: 0.3 } } : f));
    expect(readInAllGaps({ ...both, fillers: wider }, null)).toBe(false);
  });

  it('ask for the rule only where it was not laid, and say where to saw', () => {
    const [asks, , marks] = cuttingSteps({ gapsRead: false, kerfMm: 1, tiesAre: 'drawn' }, inches);
    expect(asks).toMatch(/^Before you cut, lay a steel rule in each gap/);
    expect(marks).toMatch(/not from the pins\. The blade takes 1\.0.mm: saw on the far side of the mark\.$/);
    const [laid, , alone] = cuttingSteps({ gapsRead: true, kerfMm: null, tiesAre: 'drawn' }, inches);
    expect(laid).toMatch(/^A steel rule was laid in every gap/);
    expect(alone).toMatch(/not from the pins\. Saw on the far side of the mark\.$/);
  });
});
