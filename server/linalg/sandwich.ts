/**
 * The product A M A of two symmetric matrices.
 * @param a n × n row by row
 * @param m n × n row by row, its lower triangle; costs little where most of its rows are empty
 */
export function sandwich(a: Float64Array, m: Float64Array, n: number): Float64Array {
  const at = (i: number, j: number): number => (i >= j ? m[i * n + j] : m[j * n + i]);
  const rows = Array.from({ length: n }, (_, i) => i);
  const used = rows.filter((i) => rows.some((j) => at(i, j) !== 0));
  const out = new Float64Array(n * n);
  const half = new Float64Array(used.length);
  for (let i = 0; i < n; i++) {
    half.fill(0);
    used.forEach((p) => {
      const v = a[i * n + p];
      used.forEach((q, k) => {
        half[k] += v * at(p, q);
      });
    });
    for (let j = 0; j <= i; j++) {
      let sum = 0;
      for (let k = 0; k < used.length; k++) sum += half[k] * a[used[k] * n + j];
      out[i * n + j] = sum;
      out[j * n + i] = sum;
    }
  }
  return out;
}
