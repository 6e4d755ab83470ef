import { choleskyInPlace, choleskyInverse, choleskySolve } from './cholesky.js';

/** A factored symmetric matrix whose rows may have been put in another order first. */
export interface Factored {
  readonly factor: Float64Array;
  /** Row of the matrix that each row of the factor stands for; null where they are in their own order. */
  readonly order: Int32Array | null;
}

/** From this size on the order of the unknowns is worth looking at. */
const largeCount = 40;

/**
 * Factors a matrix of which the lower triangle is given; null when it is not positive definite.
 * @param factor takes the factor: one for many steps, as large new arrays cost more than what is done in them
 */
export function factored(matrix: Float64Array, n: number, damping: number, factor: Float64Array): Factored | null {
  const order = n < largeCount ? null : sparseFirst(matrix, n);
  for (let i = 0; i < n; i++) {
    const row = i * n;
    if (order) {
      const p = order[i];
      for (let j = 0; j <= i; j++) factor[row + j] = matrix[p > order[j] ? p * n + order[j] : order[j] * n + p];
    } else for (let j = 0; j <= i; j++) factor[row + j] = matrix[row + j];
    factor[row + i] += damping * Math.max(factor[row + i], 1e-30);
  }
  return choleskyInPlace(factor, n) ? { factor, order } : null;
}

/** Unknowns that go together with few others first (Tinney and Walker 1967, Proc. IEEE 55:1801, scheme 1): fewer entries. */
function sparseFirst(matrix: Float64Array, n: number): Int32Array {
  const entries = new Int32Array(n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < i; j++)
      if (matrix[i * n + j] !== 0) {
        entries[i]++;
        entries[j]++;
      }
  return Int32Array.from({ length: n }, (_, i) => i).sort((a, b) => entries[a] - entries[b] || a - b);
}

/** The solution for a right side. */
export function solved({ factor, order }: Factored, n: number, right: Float64Array): Float64Array {
  if (!order) return choleskySolve(factor, n, right);
  const turned = choleskySolve(
    factor,
    n,
    Float64Array.from(order, (i) => right[i]),
  );
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) out[order[i]] = turned[i];
  return out;
}

/** The inverse of the matrix, in the matrix's own order. */
export function inverted({ factor, order }: Factored, n: number): Float64Array {
  const inverse = choleskyInverse(factor, n);
  if (!order) return inverse;
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) out[order[i] * n + order[j]] = inverse[i * n + j];
  return out;
}
