/**
 * Cholesky factor of a symmetric positive definite matrix, in place of its lower triangle (Golub and Van Loan, Matrix
 * Computations, algorithm 4.2.1).
 * @param a n × n row by row; only the lower triangle is read; overwritten by L
 * @returns false when the matrix is not positive definite
 */
export function choleskyInPlace(a: Float64Array, n: number): boolean {
  for (let j = 0; j < n; j++) {
    for (let i = j; i < n; i++) {
      let sum = a[i * n + j];
      for (let k = 0; k < j; k++) sum -= a[i * n + k] * a[j * n + k];
      if (i === j) {
        if (!(sum > 0)) return false;
        a[j * n + j] = Math.sqrt(sum);
      } else {
        a[i * n + j] = sum / a[j * n + j];
      }
    }
  }
  return true;
}

/** Solves L Lᵀ x = b for the factor of `choleskyInPlace`; returns a new vector. */
export function choleskySolve(factor: Float64Array, n: number, b: Float64Array): Float64Array {
  const x = Float64Array.from(b);
  for (let i = 0; i < n; i++) {
    let sum = x[i];
    for (let k = 0; k < i; k++) sum -= factor[i * n + k] * x[k];
    x[i] = sum / factor[i * n + i];
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = x[i];
    for (let k = i + 1; k < n; k++) sum -= factor[k * n + i] * x[k];
    x[i] = sum / factor[i * n + i];
  }
  return x;
}

/** Inverse of the factored matrix, n × n row by row, symmetric. */
export function choleskyInverse(factor: Float64Array, n: number): Float64Array {
  const inverse = new Float64Array(n * n);
  const unit = new Float64Array(n);
  for (let j = 0; j < n; j++) {
    unit.fill(0);
    unit[j] = 1;
    const column = choleskySolve(factor, n, unit);
    for (let i = 0; i < n; i++) inverse[i * n + j] = column[i];
  }
  return inverse;
}
