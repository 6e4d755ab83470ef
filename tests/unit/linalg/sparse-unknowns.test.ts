import { describe, expect, it } from 'vitest';
import { choleskyInPlace, choleskyInverse, choleskySolve } from '../../../server/linalg/cholesky.js';
import { type LeastSquaresProblem, solveLeastSquares } from '../../../server/linalg/least-squares.js';
import { seededRandom } from '../../support/seeded-random.js';

const count = 60;
const common = 5;

/** Unknowns in fours that only their own four and the first few share observations with, as pieces of track have them. */
function layoutProblem(): { problem: LeastSquaresProblem; rows: { at: number[]; d: number[]; value: number }[] } {
  const random = seededRandom(3);
  const rows: { at: number[]; d: number[]; value: number }[] = [];
  for (let four = common; four + 4 <= count; four += 4)
    for (let k = 0; k < 12; k++) {
      const at = [...Array.from({ length: common }, (_, i) => i), four, four + 1, four + 2, four + 3];
      rows.push({ at, d: at.map(() => random() - 0.5), value: random() });
    }
  for (let i = 0; i < count; i++) rows.push({ at: [i], d: [0.1], value: 0 });
  const problem: LeastSquaresProblem = {
    parameterCount: count,
    evaluate: (p, sink) => {
      for (const { at, d, value } of rows)
        sink(
          at.reduce((sum, i, k) => sum + p[i] * d[k], -value),
          at,
          d,
          at.length,
        );
    },
  };
  return { problem, rows };
}

/** The normal matrix, whole. */
function normalMatrix(rows: readonly { at: number[]; d: number[] }[]): Float64Array {
  const a = new Float64Array(count * count);
  for (const { at, d } of rows)
    at.forEach((i, p) => {
      at.forEach((j, q) => {
        a[i * count + j] += d[p] * d[q];
      });
    });
  return a;
}

describe('many unknowns of which few go together', () => {
  const { problem, rows } = layoutProblem();
  const matrix = normalMatrix(rows);

  it('are solved for: the residuals are square to every derivative', () => {
    const { parameters } = solveLeastSquares(problem, new Float64Array(count));
    const gradient = new Float64Array(count);
    problem.evaluate(parameters, (r, at, d, n) => {
      for (let k = 0; k < n; k++) gradient[at[k]] += r * d[k];
    });
    expect(Math.max(...gradient.map(Math.abs))).toBeLessThan(1e-10);
  });

  it('have the inverse of the normal matrix as covariance, in their own order', () => {
    const { covariance } = solveLeastSquares(problem, new Float64Array(count));
    expect(covariance).not.toBeNull();
    for (let i = 0; i < count; i++)
      for (let j = 0; j < count; j++) {
        let sum = 0;
        for (let k = 0; k < count; k++) sum += matrix[i * count + k] * (covariance as Float64Array)[k * count + j];
        expect(Math.abs(sum - (i === j ? 1 : 0))).toBeLessThan(1e-9);
      }
  });

  it('are factored alike whether zeros stand at the beginning of rows or not', () => {
    // The common unknowns last: then most rows begin with zeros.
    const order = [...Array.from({ length: count - common }, (_, i) => i + common), 0, 1, 2, 3, 4];
    const turned = Float64Array.from({ length: count * count }, (_, at) => {
      return matrix[order[Math.floor(at / count)] * count + order[at % count]];
    });
    const right = Float64Array.from({ length: count }, (_, i) => Math.sin(i));
    const plain = Float64Array.from(matrix);
    expect(choleskyInPlace(plain, count) && choleskyInPlace(turned, count)).toBe(true);
    const x = choleskySolve(plain, count, right);
    const y = choleskySolve(
      turned,
      count,
      Float64Array.from(order, (i) => right[i]),
    );
    order.forEach((i, k) => {
      expect(Math.abs(x[i] - y[k])).toBeLessThan(1e-9);
    });
    const [p, q] = [choleskyInverse(plain, count), choleskyInverse(turned, count)];
    expect(Math.abs(p[7 * count + 2] - q[2 * count + count - common + 2])).toBeLessThan(1e-9);
  });
});
