import { describe, expect, it } from 'vitest';
import { chainsOf } from '../../../server/planner/chain.js';
import { buildFillerModel, type FillerModel } from '../../../server/planner/filler-model.js';
import { layoutParts } from '../../../server/planner/layout-parts.js';
import { roundSteps } from '../../../server/planner/round-steps.js';
import { ovalReport, stockOf, wishesOf } from './plan-scene.js';

const s = (straight: number) => ({ straight });
const gap = (mm: number) => ({ gap: mm });

/** An oval with two opposite gaps, each filled by a piece of any length. */
function filled(
  gapsMm: readonly [number, number],
  fillersMm: readonly [number, number],
  wishes: Record<string, unknown>,
) {
  const report = ovalReport([s(254), gap(gapsMm[0])], [s(254), gap(gapsMm[1])]);
  const layout = layoutParts(chainsOf(report), {
    jointAllowanceMm: 0,
    stays: () => false,
    keepsGroups: () => true,
    keepsPiece: () => true,
  });
  const model: FillerModel = buildFillerModel(layout, {
    wishes: wishesOf(wishes),
    stock: stockOf([254]),
    lengthsOnly: false,
    withDonors: false,
    mayChange: () => true,
    reach: () => ({ leastMm: -50, mostMm: 50 }),
    shiftMm: () => 0,
  });
  const { stepMm } = model.options.wishes;
  const values = new Float64Array(model.program.columnCount);
  model.segments.forEach((segment, i) => {
    values[segment.fillers[0].used] = 1;
    values[segment.fillers[0].steps] = fillersMm[i] / stepMm;
    if (segment.changed !== null) values[segment.changed] = 1;
  });
  return model.segments.map((segment) => roundSteps(model, values).get(segment.fillers[0].steps));
}

describe('rounding fillers to whole steps', () => {
  it('takes the nearest step where the loop then closes', () => {
    expect(filled([50, 50], [50.2, 49.9], { stepMm: 1 })).toEqual([50, 50]);
  });

  it('rounds one of two the other way where the nearest steps would not close the loop', () => {
    // 50.9 → 52 and 49.2 → 48 are 4 mm apart in steps of 4 mm; only equal ones close within 1.5 mm.
    const [a, b] = filled([50, 50], [50.9, 49.2], { stepMm: 4 });
    expect(a).toBe(b);
  });
});
