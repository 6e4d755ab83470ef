import { describe, expect, it } from 'vitest';
import { solveLeastSquares } from '../../../server/linalg/least-squares.js';
import { normalFrom, seededRandom } from '../../support/seeded-random.js';

/** y = a + b x with unit noise. */
function line(points: readonly (readonly [number, number])[]) {
  return {
    parameterCount: 2,
    evaluate(p: Float64Array, sink: (r: number, i: number[], d: number[], n: number) => void): void {
      for (const [x, y] of points) sink(p[0] + p[1] * x - y, [0, 1], [1, x], 2);
    },
  };
}

describe('solveLeastSquares', () => {
  it('finds a line and the covariance that the normal equations give', () => {
    const points = [0, 1, 2, 3].map((x) => [x, 2 + 3 * x] as const);
    const solved = solveLeastSquares(line(points), new Float64Array(2));
    expect(solved.parameters[0]).toBeCloseTo(2, 6);
    expect(solved.parameters[1]).toBeCloseTo(3, 6);
    // (JᵀJ)⁻¹ for x = 0…3: [[14, −6], [−6, 4]] / 20.
    expect(solved.covariance?.[0]).toBeCloseTo(0.7, 9);
    expect(solved.covariance?.[1]).toBeCloseTo(-0.3, 9);
    expect(solved.covariance?.[3]).toBeCloseTo(0.2, 9);
  });

  it('states a covariance that its own scatter bears out', () => {
    const normal = normalFrom(seededRandom(7));
    let sum = 0;
    const rounds = 400;
    for (let k = 0; k < rounds; k++) {
      const points = Array.from({ length: 20 }, (_, i) => [i / 10, 1 + i / 10 + normal()] as const);
      const solved = solveLeastSquares(line(points), new Float64Array(2));
      sum += (solved.parameters[1] - 1) ** 2 / (solved.covariance as Float64Array)[3];
    }
    expect(sum / rounds).toBeGreaterThan(0.8);
    expect(sum / rounds).toBeLessThan(1.25);
  });

  it('keeps to the many when a few points are far off and the loss is robust', () => {
    const points = Array.from({ length: 20 }, (_, i) => [i, i === 4 ? 500 : 2 * i] as const);
    const plain = solveLeastSquares(line(points), new Float64Array(2));
    const robust = solveLeastSquares(line(points), new Float64Array(2), {
      loss: { kind: 'cauchy', width: 1 },
      maxIterations: 200,
      costTolerance: 1e-14,
    });
    expect(Math.abs(plain.parameters[0])).toBeGreaterThan(5);
    expect(Math.abs(robust.parameters[0])).toBeLessThan(0.5);
  });
});
