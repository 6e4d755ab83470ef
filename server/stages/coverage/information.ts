import { choleskyInPlace, choleskyInverse } from '../../linalg/cholesky.js';

/** Symmetric n × n matrices row by row, full. */
export interface Information {
  readonly matrix: Float64Array;
  readonly count: number;
}

/**
 * Inverse of a symmetric positive definite matrix, scaled to a unit diagonal first: what is inverted here holds squared
 * pixels beside squared lens terms, ten powers of ten apart.
 * @returns null where it is not positive definite
 */
export function invertedSymmetric(matrix: Float64Array, n: number): Float64Array | null {
  const scale = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    scale[i] = 1 / Math.sqrt(matrix[i * n + i]);
    if (!Number.isFinite(scale[i])) return null;
  }
  const scaled = new Float64Array(n * n);
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) scaled[i * n + j] = matrix[i * n + j] * scale[i] * scale[j];
  if (!choleskyInPlace(scaled, n)) return null;
  const inverse = choleskyInverse(scaled, n);
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) inverse[i * n + j] *= scale[i] * scale[j];
  return inverse;
}

/** A copy with room for `more` unknowns that nothing is known of yet. */
export function extended({ matrix, count }: Information, more: number): Information {
  const n = count + more;
  const out = new Float64Array(n * n);
  for (let i = 0; i < count; i++) out.set(matrix.subarray(i * count, (i + 1) * count), i * n);
  return { matrix: out, count: n };
}

/** Adds one observation, its derivatives divided by its sigma already. */
export function observe(
  { matrix, count }: Information,
  index: ArrayLike<number>,
  derivative: ArrayLike<number>,
  entries: number,
  weight = 1,
): void {
  for (let a = 0; a < entries; a++) {
    const line = index[a] * count;
    const wd = weight * derivative[a];
    for (let b = 0; b < entries; b++) matrix[line + index[b]] += wd * derivative[b];
  }
}

/** Takes the last `local` unknowns out: what remains says of the others all that was known (Schur complement). */
export function without({ matrix, count }: Information, local: number): Information {
  const n = count - local;
  const block = new Float64Array(local * local);
  for (let i = 0; i < local; i++)
    for (let j = 0; j < local; j++) block[i * local + j] = matrix[(n + i) * count + n + j];
  const inverse = invertedSymmetric(block, local);
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      let value = matrix[i * count + j];
      if (inverse)
        for (let a = 0; a < local; a++)
          for (let b = 0; b < local; b++)
            value -= matrix[i * count + n + a] * inverse[a * local + b] * matrix[(n + b) * count + j];
      out[i * n + j] = value;
    }
  return { matrix: out, count: n };
}
