import { describe, expect, it } from 'vitest';
import { sandwich } from '../../../server/linalg/sandwich.js';
import { seededRandom } from '../../support/seeded-random.js';

/** A symmetric matrix, row by row; only rows and columns that `used` names hold anything. */
function symmetric(n: number, seed: number, used: (i: number) => boolean = () => true): Float64Array {
  const random = seededRandom(seed);
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      const v = used(i) && used(j) ? random() - 0.5 : 0;
      out[i * n + j] = v;
      out[j * n + i] = v;
    }
  return out;
}

function product(a: Float64Array, b: Float64Array, n: number): Float64Array {
  return Float64Array.from({ length: n * n }, (_, at) => {
    let sum = 0;
    for (let k = 0; k < n; k++) sum += a[Math.trunc(at / n) * n + k] * b[k * n + (at % n)];
    return sum;
  });
}

describe('the product A M A', () => {
  it('is what two products give, whether M is full or mostly empty, from its lower triangle alone', () => {
    for (const [n, used] of [
      [7, () => true],
      [9, (i: number) => i % 4 === 1],
      [5, () => false],
    ] as const) {
      const a = symmetric(n, 3 + n);
      const m = symmetric(n, 40 + n, used);
      const lower = m.map((v, at) => (at % n <= Math.trunc(at / n) ? v : Number.NaN));
      const whole = product(product(a, m, n), a, n);
      for (const [at, v] of sandwich(a, lower, n).entries()) expect(v).toBeCloseTo(whole[at], 12);
    }
  });
});
