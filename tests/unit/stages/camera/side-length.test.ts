import { describe, expect, it } from 'vitest';
import type { Arc } from '../../../../server/scene/track-observation.js';
import { sideTapeResidual } from '../../../../server/stages/camera/side-length.js';

const arc = (x: number, y: number, headingRad: number): Arc => ({
  x,
  y,
  headingRad,
  curvaturePerMm: 0,
  halfLengthMm: 0,
});

/** Side A of a table 1830 mm long, its middles off the middles of the sides, corners not quite square. */
const arcs = [arc(700, 0, 0), arc(1830, 500, Math.PI / 2 + 0.01), arc(0, 300, -Math.PI / 2 - 0.02)];

describe('a table side measured with a tape', () => {
  it('reaches from the side before it to the side after it', () => {
    const square = [arcs[0], arc(1830, 500, Math.PI / 2), arc(0, 300, -Math.PI / 2)];
    const tape = { side: 0, before: 2, after: 1, lengthMm: 1828, uMm: 0.5 };
    sideTapeResidual(tape, square, [0, 4, 8], (r) => expect(r).toBeCloseTo(2 / 0.5, 9));
    expect.assertions(1);
  });

  it('has derivatives that agree with central differences', () => {
    const tape = { side: 0, before: 2, after: 1, lengthMm: 1825, uMm: 0.5 };
    const places = [0, 4, 8];
    const residualAt = (list: readonly Arc[]): number => {
      let value = Number.NaN;
      sideTapeResidual(tape, list, places, (r) => {
        value = r;
      });
      return value;
    };
    let checked = 0;
    sideTapeResidual(tape, arcs, places, (_, index, derivative, count) => {
      for (let n = 0; n < count; n++) {
        const [which, k] = [index[n] >> 2, index[n] & 3];
        const key = (['x', 'y', 'headingRad'] as const)[k];
        const h = 1e-5;
        const moved = (d: number) => arcs.map((a, i) => (i === which ? { ...a, [key]: a[key] + d } : a));
        expect(derivative[n]).toBeCloseTo((residualAt(moved(h)) - residualAt(moved(-h))) / (2 * h), 4);
        checked++;
      }
    });
    expect(checked).toBe(9);
  });
});
