import { describe, expect, it } from 'vitest';
import { RowProducts } from '../../../server/linalg/row-products.js';
import { seededRandom } from '../../support/seeded-random.js';

const n = 50;

describe('sums of products of derivatives', () => {
  it('are those of the rows one by one, whatever comes after what, in any order, and with one unknown twice', () => {
    const random = seededRandom(9);
    const lists = [[3, 8, 20], [20, 3, 8], [7], [1, 2, 1], [], Array.from({ length: 40 }, (_, i) => 49 - i)];
    const matrix = new Float64Array(n * n);
    const gradient = new Float64Array(n);
    const whole = new Float64Array(n * n);
    const expected = new Float64Array(n);
    const products = new RowProducts(matrix, gradient, n);
    for (let k = 0; k < 200; k++) {
      const index = lists[Math.floor(random() * lists.length)];
      for (let times = 0; times < 3; times++) {
        const derivative = index.map(() => random() - 0.5);
        const [residual, weight] = [random() - 0.5, random()];
        products.add(residual, weight, index, derivative, index.length);
        index.forEach((i, a) => {
          expected[i] += weight * derivative[a] * residual;
          index.forEach((j, b) => {
            whole[i * n + j] += weight * derivative[a] * derivative[b];
          });
        });
      }
    }
    products.flush();
    for (let i = 0; i < n; i++) {
      expect(Math.abs(gradient[i] - expected[i])).toBeLessThan(1e-11);
      for (let j = 0; j <= i; j++) expect(Math.abs(matrix[i * n + j] - whole[i * n + j])).toBeLessThan(1e-11);
    }
  });
});
