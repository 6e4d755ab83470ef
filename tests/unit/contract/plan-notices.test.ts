import { describe, expect, it } from 'vitest';
import { contradictionWords, slideWords, unsafeWords } from '../../../server/contract/plan-notices.js';
import { planWarning } from '../../../server/contract/plan-words.js';
import { gapPlan, gapReport } from '../../support/bench-plans.js';

const inches = { unit: 'in', denominator: 16 } as const;
const report = gapReport([50.8, 101.6]);
const plan = gapPlan([50.8, 101.6]);

describe('what is said before the fillers', () => {
  it('says how far a run slides, and towards which side, in the reader’s unit', () => {
    expect(slideWords({ ...plan, shift: { R1: [0, 31.75] } }, report, inches)).toEqual([
      'Slide run R1 1 1/4 in towards side C.',
    ]);
    expect(slideWords({ ...plan, shift: { R1: [-20, 31.75] } }, report, { ...inches, unit: 'mm' })).toEqual([
      'Slide run R1 31.8 mm towards side C and 20.0 mm towards side D.',
    ]);
  });

  it('says where rule and photo differ, both lengths in the reader’s unit, and nothing of other warnings', () => {
    const data = { gap: 'Gap 2', rule: { value: 54, u: 0.3 }, photo: { value: 50.8, u: 0.2 } };
    const warnings = [planWarning('hidden-track', { run: 'R1' }), planWarning('rule-against-photo', data)];
    const [inIn, ...more] = contradictionWords({ ...plan, warnings }, inches);
    expect(inIn).toContain('Gap 2: the rule says 2 1/8 in ± 0.03 in, the photo 2 in ± 0.02 in.');
    const [inMm] = contradictionWords({ ...plan, warnings }, { ...inches, unit: 'mm' });
    expect(inMm).toContain('Gap 2: the rule says 54.0 mm ± 0.6 mm, the photo 50.8 mm ± 0.4 mm.');
    expect([more, contradictionWords(plan, inches)]).toEqual([[], []]);
  });

  it('says nothing of what is less than a person lays by hand', () => {
    expect(slideWords({ ...plan, shift: { R1: [1.5, -2] } }, report, inches)).toEqual([]);
    expect(slideWords({ ...plan, shift: { R1: [0, 31.75] } }, null, inches)).toEqual([]);
  });

  it('says where the rails come to when the straights change, and slides only what keeps its width', () => {
    const stretches = plan.stretches.map((s) => ({ ...s, thenMm: s.nowMm - 127 }));
    const now = (side: string) => report.clearances.find((c) => c.side === side)?.distance.value ?? Number.NaN;
    const to = (side: string, byMm: number) => ({ side, distance: { value: now(side) + byMm, u: 0.6 } });
    const predicted = { ...plan.predicted, clearances: [to('A', 25.4), to('B', 27), to('C', -25.4), to('D', 100)] };
    const [slide, lay] = slideWords({ ...plan, stretches, predicted, shift: { R1: [100, 25.4] } }, report, {
      ...inches,
      unit: 'mm',
    });
    expect(slide).toBe('Slide run R1 25.4 mm towards side C.');
    const [b, d] = [now('B') + 27, now('D') + 100].map((mm) => mm.toFixed(1));
    expect(lay).toBe(`Lay run R1 so that its rails come to ${b} mm from side B and ${d} mm from side D.`);
  });

  it('warns of every place that the longest car hits, and of none that it passes', () => {
    const car = { lengthMm: 279.4, truckCentresMm: 190.5, widthMm: 63.5 };
    const place = (kind: 'edge' | 'zone', against: string, roomMm: number) => ({
      run: 'R1',
      kind,
      against,
      roomMm,
      at: [0, 0] as [number, number],
    });
    const places = [place('edge', 'B', -19.05), place('zone', 'Station', -6.35), place('edge', 'A', 0.5)];
    const trainRoom = { car, tightest: places[0], places };
    expect(unsafeWords({ ...plan, trainRoom }, inches)).toEqual([
      'Not safe to run: on run R1 the longest car reaches 3/4 in beyond the table edge, side B.',
      'Not safe to run: on run R1 the longest car reaches 1/4 in into the place kept free, Station.',
    ]);
    expect(unsafeWords(plan, inches)).toEqual([]);
  });
});
