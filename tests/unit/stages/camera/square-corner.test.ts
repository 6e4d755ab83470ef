import { describe, expect, it } from 'vitest';
import type { Arc } from '../../../../server/scene/track-observation.js';
import { squareCornerResidual, squareCornerURad } from '../../../../server/stages/camera/square-corner.js';

const arc = (headingRad: number): Arc => ({ x: 40, y: 900, headingRad, curvaturePerMm: 0, halfLengthMm: 0 });

/** Two sides 4 mm to the metre off square; between them among the parameters lies another arc. */
const arcs = [arc(0.3), arc(0), arc(0.3 + Math.PI / 2 + 4e-3)];
const places = [7, 11, 15];
const corner = { before: 0, after: 2, turnRad: Math.PI / 2 };

function residualAt(list: readonly Arc[]): number {
  let value = Number.NaN;
  squareCornerResidual(corner, list, places, (r) => {
    value = r;
  });
  return value;
}

describe('a corner that is said to be square', () => {
  it('pulls by how far it is off, in units of what such a corner may be off', () => {
    expect(residualAt(arcs)).toBeCloseTo(4e-3 / squareCornerURad, 9);
    expect(residualAt([arc(0.3), arc(0), arc(0.3 + Math.PI / 2)])).toBeCloseTo(0, 9);
  });

  it('has derivatives that agree with central differences, by both headings and nothing else', () => {
    const checked: number[] = [];
    squareCornerResidual(corner, arcs, places, (_, index, derivative, count) => {
      for (let n = 0; n < count; n++) {
        const which = places.indexOf(index[n] - 2);
        const h = 1e-6;
        const moved = (d: number) => arcs.map((a, i) => (i === which ? { ...a, headingRad: a.headingRad + d } : a));
        expect(derivative[n]).toBeCloseTo((residualAt(moved(h)) - residualAt(moved(-h))) / (2 * h), 4);
        checked.push(which);
      }
    });
    expect(checked).toEqual([0, 2]);
  });
});
