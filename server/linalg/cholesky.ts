/** In smaller matrices zeros are not worth looking for. */
const largeRows = 16;

/**
 * Column of the first entry of each row of a lower triangle that is not zero: left of it the factor is zero too. Null for
 * small matrices.
 */
function firstEntries(a: Float64Array, n: number): Int32Array | null {
  if (n < largeRows) return null;
  const first = new Int32Array(n);
  for (let i = 0; i < n; i++) {
    let k = 0;
    while (k < i && a[i * n + k] === 0) k++;
    first[i] = k;
  }
  return first;
}

/**
 * Cholesky factor of a symmetric positive definite matrix, in place of its lower triangle (Golub and Van Loan, Matrix
 * Computations, algorithm 4.2.1). Zeros at the beginning of rows are passed over (George and Liu 1981, Computer Solution
 * of Large Sparse Positive Definite Systems, chapter 4).
 * @param a n × n row by row; only the lower triangle is read; overwritten by L
 * @returns false when the matrix is not positive definite
 */
export function choleskyInPlace(a: Float64Array, n: number): boolean {
  const first = firstEntries(a, n);
  for (let i = 0; i < n; i++) {
    const row = i * n;
    for (let j = first ? first[i] : 0; j <= i; j++) {
      const other = j * n;
      let sum = a[row + j];
      for (let k = first ? Math.max(first[i], first[j]) : 0; k < j; k++) sum -= a[row + k] * a[other + k];
      if (i === j) {
        if (!(sum > 0)) return false;
        a[row + j] = Math.sqrt(sum);
      } else {
        a[row + j] = sum / a[other + j];
      }
    }
  }
  return true;
}

/** Solves L Lᵀ x = b for the factor of `choleskyInPlace`; returns a new vector. */
export function choleskySolve(factor: Float64Array, n: number, b: Float64Array): Float64Array {
  const x = Float64Array.from(b);
  solveInPlace(factor, n, firstEntries(factor, n), x, 0);
  return x;
}

/** @param from x is zero before this */
function solveInPlace(factor: Float64Array, n: number, first: Int32Array | null, x: Float64Array, from: number): void {
  for (let i = from; i < n; i++) {
    const row = i * n;
    let sum = x[i];
    for (let k = first ? Math.max(from, first[i]) : from; k < i; k++) sum -= factor[row + k] * x[k];
    x[i] = sum / factor[row + i];
  }
  for (let i = n - 1; i >= 0; i--) {
    const row = i * n;
    const value = x[i] / factor[row + i];
    x[i] = value;
    for (let k = first ? first[i] : 0; k < i; k++) x[k] -= factor[row + k] * value;
  }
}

/** Inverse of the factored matrix, n × n row by row, symmetric. */
export function choleskyInverse(factor: Float64Array, n: number): Float64Array {
  const inverse = new Float64Array(n * n);
  const first = firstEntries(factor, n);
  // Symmetric: its columns are its rows.
  for (let j = 0; j < n; j++) {
    const row = inverse.subarray(j * n, (j + 1) * n);
    row[j] = 1;
    solveInPlace(factor, n, first, row, j);
  }
  return inverse;
}
