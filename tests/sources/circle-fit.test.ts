import { describe, expect, it } from 'vitest';
import { type LeastSquaresProblem, solveLeastSquares } from '../../server/linalg/least-squares.js';
import { type Arc, alongArc, pointOnArc } from '../../server/scene/track-observation.js';

/** Points of Gander, Golub and Strebel, BIT 34 (1994) 558–578 (from memory). */
const points = [
  [1, 7],
  [2, 6],
  [5, 8],
  [7, 7],
  [9, 5],
  [3, 7],
] as const;

const arcOf = (p: ArrayLike<number>): Arc => ({
  x: p[0],
  y: p[1],
  headingRad: p[2],
  curvaturePerMm: p[3],
  halfLengthMm: 5,
});

/** Distance of a point from the measuring's own arc, positive on its left. */
function distance(p: ArrayLike<number>, x: number, y: number): number {
  const arc = arcOf(p);
  const at = pointOnArc(arc, alongArc(arc, x, y));
  return -(x - at.x) * Math.sin(at.headingRad) + (y - at.y) * Math.cos(at.headingRad);
}

/** The arc's place along itself is held by a weak prior, as in the adjustment. */
const problem: LeastSquaresProblem = {
  parameterCount: 4,
  evaluate(p, sink) {
    for (const [x, y] of points) {
      const derivative = [0, 1, 2, 3].map((i) => {
        const step = (sign: number) => Float64Array.from(p, (v, k) => (k === i ? v + sign * 1e-6 : v));
        return (distance(step(1), x, y) - distance(step(-1), x, y)) / 2e-6;
      });
      sink(distance(p, x, y), [0, 1, 2, 3], derivative, 4);
    }
    sink((p[0] - 5) * 1e-6, [0], [1e-6], 1);
  },
};

describe('arcs fitted to points', () => {
  it('gives the geometric circle of Gander, Golub and Strebel (1994), not the algebraic one', () => {
    const solved = solveLeastSquares(problem, Float64Array.of(5, 7.7, 0, -0.1), {
      loss: { kind: 'squared' },
      maxIterations: 500,
      costTolerance: 1e-15,
    });
    const [x, y, heading, curvature] = solved.parameters;
    const centre = [x - Math.sin(heading) / curvature, y + Math.cos(heading) / curvature];
    // Centre and radius recomputed; the algebraic fit, biased on short arcs, has (5.3794, 7.2532) and 3.0370 and would fail.
    expect(centre[0]).toBeCloseTo(4.7398, 3);
    expect(centre[1]).toBeCloseTo(2.9835, 3);
    expect(Math.abs(1 / curvature)).toBeCloseTo(4.7142, 3);
  });
});
