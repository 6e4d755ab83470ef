import { describe, expect, it } from 'vitest';
import { blurredPattern, pattern } from '../../../../server/stages/markers/blurred-pattern.js';
import { seededRandom } from '../../../support/seeded-random.js';

/** The same by brute force: the pattern seen through a two-dimensional Gaussian, summed on a fine grid. */
function bruteForce(black: Uint8Array, x: number, y: number, sx: number, sy: number, rho: number): number {
  const steps = 400;
  let [sum, total] = [0, 0];
  for (let i = 0; i < steps; i++)
    for (let j = 0; j < steps; j++) {
      const [u, v] = [((i + 0.5) / steps - 0.5) * 10, ((j + 0.5) / steps - 0.5) * 10];
      const weight = Math.exp(-(u * u - 2 * rho * u * v + v * v) / (2 * (1 - rho * rho)));
      const [column, row] = [Math.floor(x + u * sx), Math.floor(y + v * sy)];
      total += weight;
      if (column >= 0 && row >= 0 && column < 8 && row < 8 && black[row * 8 + column]) sum += weight;
    }
  return sum / total;
}

describe('blurredPattern', () => {
  it('is the pattern seen through a Gaussian, askew or not', () => {
    const random = seededRandom(5);
    for (let run = 0; run < 25; run++) {
      const black = Uint8Array.from({ length: 64 }, () => (random() < 0.6 ? 1 : 0));
      const [x, y, sx, sy] = [8 * random(), 8 * random(), 0.15 + 0.5 * random(), 0.15 + 0.5 * random()];
      const rho = run % 5 === 0 ? 0 : 0.7 * (random() - 0.5);
      blurredPattern(8, black, x, y, sx, sy, rho);
      // The grid is good to 0.005; three nodes for an askewness of 0.35 to another 0.015.
      expect(Math.abs(pattern.dark - bruteForce(black, x, y, sx, sy, rho))).toBeLessThan(rho === 0 ? 0.008 : 0.025);
    }
  });
});
