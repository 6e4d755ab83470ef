import { describe, expect, it } from 'vitest';
import { judgeTapes, sideTapesOf, tapesLeftOut, tapeUMm } from '../../../server/pipeline/tapes.js';
import type { MeasuredSide } from '../../../server/scene/measured-layout.js';
import type { AdjustmentOutput } from '../../../server/stages/camera/adjustment.js';
import type { AdjustmentState } from '../../../server/stages/camera/adjustment-state.js';

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

describe('tape checks that the photos can judge', () => {
  /** Markers 3 and 7 are 1000 mm apart, x and y of each known to u mm, nothing in common; side A is 2000 mm long. */
  const free = (u: number): AdjustmentOutput => {
    const count = 18;
    const covariance = new Float64Array(count * count);
    for (let i = 0; i < count; i++) covariance[i * count + i] = i < 6 ? u ** 2 : 1e-12;
    const layout = { marker: [0, 3], arc: [6, 9, 12, 15], count };
    const markers = [
      { id: 3, x: 0, y: 0, turnRad: 0 },
      { id: 7, x: 600, y: 800, turnRad: 0 },
    ];
    return { state: { markers }, covariance, layout } as unknown as AdjustmentOutput;
  };
  const right = Math.PI / 2;
  const table = [0, 1, 2, 3].map((i): MeasuredSide => {
    const half = i % 2 === 0 ? 1000 : 500;
    const [x, y] = [i % 2 === 0 ? 0 : 1000 * (2 - i), i % 2 === 0 ? 500 * (i - 1) : 0];
    const arc = { x, y, headingRad: i * right, curvaturePerMm: 0, halfLengthMm: 0 };
    return { name: 'ABCD'[i], arc, arcIndex: i, fromS: -half, toS: half, fromCorner: true, toCorner: true };
  });
  const between = (lengthMm: number, uMm: number | null = null, to = 7) => ({ from: 3, to, lengthMm, uMm });
  const ofSide = (name: string, lengthMm: number) => ({ side: name, lengthMm, uMm: null });

  it('are taken in while they differ by no more than both may be wrong', () => {
    const checks = [between(1003), between(996)];
    expect(judgeTapes(checks, [ofSide('A', 2002)], free(1), table)).toEqual({
      between: checks,
      ofSides: [ofSide('A', 2002)],
      doubted: [],
    });
  });

  it('are set aside by name, with both lengths, when they cannot be of the same', () => {
    const judged = judgeTapes([between(1050), between(1001)], [ofSide('A', 1000), ofSide('B', 1000.5)], free(1), table);
    expect(judged.between).toEqual([between(1001)]);
    expect(judged.ofSides).toEqual([ofSide('B', 1000.5)]);
    expect(judged.doubted).toEqual([
      { name: '3-7', lengthMm: 1050, photosMm: 1000 },
      { name: 'A', lengthMm: 1000, photosMm: 2000 },
    ]);
  });

  it('may differ by more where the photos know less, or the person trusts the tape less', () => {
    expect(judgeTapes([between(1050)], [], free(10), table).doubted).toEqual([]);
    expect(judgeTapes([between(1050, 12)], [], free(1), table).doubted).toEqual([]);
  });

  it('are left to be named otherwise when a marker or a side was not measured at all', () => {
    const judged = judgeTapes([between(900, null, 9)], [ofSide('Q', 900)], free(1), table);
    expect(judged.doubted).toEqual([]);
  });
});
