import { describe, expect, it } from 'vitest';
import { sideTapesOf, tapesLeftOut, tapeUMm } from '../../../server/pipeline/tapes.js';
import type { MeasuredSide } from '../../../server/scene/measured-layout.js';
import type { AdjustmentState } from '../../../server/stages/camera/adjustment.js';

/** Four sides in order; the arcs of the adjustment lie in another order, behind seven of the track. */
const sides = ['A', 'B', 'C', 'D'].map(
  (name, i) => ({ name, arcIndex: 7 + [2, 0, 3, 1][i], fromCorner: true, toCorner: name !== 'C' }) as MeasuredSide,
);
const state = { markers: [{ id: 3 }, { id: 7 }] } as unknown as AdjustmentState;
const side = (name: string, uMm: number | null = null) => ({ side: name, lengthMm: 1830, uMm });

describe('tape checks', () => {
  it('of a table side reach between its neighbours, with the sigma of a class II tape', () => {
    expect(sideTapesOf([side('A'), side('D', 0.4)], sides, 7)).toEqual([
      { side: 2, before: 1, after: 0, lengthMm: 1830, uMm: tapeUMm(1830) },
      { side: 1, before: 3, after: 2, lengthMm: 1830, uMm: 0.4 },
    ]);
  });

  it('that cannot be used are named: a side without both corners or unknown, a marker that was not seen', () => {
    const tapes = [3, 9].map((to) => ({ from: 7, to, lengthMm: 900, uMm: null }));
    expect(tapesLeftOut(tapes, [side('A'), side('C'), side('Q')], state, sides)).toEqual(['7-9', 'C', 'Q']);
  });
});
