import { choleskyInPlace, choleskySolve } from '../../linalg/cholesky.js';

/** Value of Σ c[k]·x^k. */
export function evaluatePolynomial(coefficients: readonly number[], x: number): number {
  let value = 0;
  for (let k = coefficients.length - 1; k >= 0; k--) value = value * x + coefficients[k];
  return value;
}

/** Weighted least-squares polynomial, lowest power first; null when the places do not determine it. */
export function fitPolynomial(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  weight: ArrayLike<number>,
  degree: number,
): number[] | null {
  const n = degree + 1;
  const matrix = new Float64Array(n * n);
  const right = new Float64Array(n);
  const power = new Float64Array(n);
  for (let i = 0; i < x.length; i++) {
    power[0] = 1;
    for (let k = 1; k < n; k++) power[k] = power[k - 1] * x[i];
    for (let a = 0; a < n; a++) {
      right[a] += weight[i] * power[a] * y[i];
      for (let b = 0; b <= a; b++) matrix[a * n + b] += weight[i] * power[a] * power[b];
    }
  }
  if (!choleskyInPlace(matrix, n)) return null;
  return Array.from(choleskySolve(matrix, n, right));
}
