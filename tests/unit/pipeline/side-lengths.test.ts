import { describe, expect, it } from 'vitest';
import { sideLengthU } from '../../../server/pipeline/side-lengths.js';
import type { MeasuredSide } from '../../../server/scene/measured-layout.js';

const side = (i: number, x: number, y: number, headingRad: number, half: number, corners = true): MeasuredSide => ({
  name: 'ABCD'[i],
  arc: { x, y, headingRad, curvaturePerMm: 0, halfLengthMm: 0 },
  arcIndex: i,
  fromS: -half,
  toS: half,
  fromCorner: corners,
  toCorner: corners,
});
/** 2000 × 1000 mm, counter-clockwise. */
const table = [
  side(0, 1000, 0, 0, 1000),
  side(1, 2000, 500, Math.PI / 2, 500),
  side(2, 1000, 1000, Math.PI, 1000),
  side(3, 0, 500, -Math.PI / 2, 500),
];
/** Each line known to uX, uY (mm) and uTurn (rad), nothing in common. */
const apart = (uX: number, uY: number, uTurn: number) => (a: number, b: number) =>
  a === b ? [uX ** 2, 0, 0, 0, uY ** 2, 0, 0, 0, uTurn ** 2] : [0, 0, 0, 0, 0, 0, 0, 0, 0];

describe('how exactly the length of a table side is known', () => {
  it('adds up what is known of the two sides at its ends', () => {
    // Length of side A = x of side B − x of side D: each known to 0.4 mm.
    expect(sideLengthU(table, 0, apart(0.4, 0, 0))).toBeCloseTo(Math.sqrt(2 * 0.4 ** 2 + 2 * 0.1 ** 2), 6);
  });

  it('does not grow by what a line may slide along itself', () => {
    const along = (a: number, b: number): number[] => {
      const c = Math.abs(Math.cos(table[a].arc.headingRad));
      const s = Math.abs(Math.sin(table[a].arc.headingRad));
      return a === b ? [2500 * c, 0, 0, 0, 2500 * s, 0, 0, 0, 0] : [0, 0, 0, 0, 0, 0, 0, 0, 0];
    };
    expect(sideLengthU(table, 0, along)).toBeLessThan(0.15);
  });

  it('takes in a scale that all lines share', () => {
    // x and y of every line grow by the same 0.001.
    const shared = (a: number, b: number): number[] => {
      const p = [table[a].arc.x, table[a].arc.y, 0];
      const q = [table[b].arc.x, table[b].arc.y, 0];
      return p.flatMap((v) => q.map((w) => 1e-6 * v * w));
    };
    expect(sideLengthU(table, 0, shared)).toBeCloseTo(Math.hypot(2, 0.1, 0.1), 4);
    expect(sideLengthU(table, 1, shared)).toBeCloseTo(Math.hypot(1, 0.1, 0.1), 4);
  });

  it('counts the turn of the sides that cross it, over the way from their middle', () => {
    expect(sideLengthU(table, 0, apart(0, 0, 1e-3))).toBeCloseTo(Math.hypot(0.5, 0.5, 0.1, 0.1), 4);
  });

  it('is wide where an end is but the border of the picture', () => {
    const open = [{ ...table[0], toCorner: false }, ...table.slice(1)];
    expect(sideLengthU(open, 0, apart(0.1, 0.1, 0))).toBeGreaterThan(4);
  });

  it('is a guess of a thousandth and a millimetre when the adjustment has no covariance', () => {
    expect(sideLengthU(table, 0, () => null)).toBeCloseTo(Math.hypot(1, 2), 6);
  });
});
