/** j · c · k, with c a 3 × 3 matrix row by row: the variance, or covariance, of what changes by j and k with three unknowns. */
export function quadraticForm(j: readonly number[], c: readonly number[], k: readonly number[]): number {
  let sum = 0;
  for (let a = 0; a < 3; a++) for (let b = 0; b < 3; b++) sum += j[a] * c[3 * a + b] * k[b];
  return sum;
}
