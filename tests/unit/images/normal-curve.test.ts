import { describe, expect, it } from 'vitest';
import { lightOfPixel, linearFromCode } from '../../../server/images/linear-light.js';
import { normalCdf, normalDensity } from '../../../server/images/normal-curve.js';

describe('normalCdf', () => {
  it('agrees with printed values (Abramowitz and Stegun, table 26.1)', () => {
    const printed = [
      [0, 0.5],
      [0.5, 0.6914624613],
      [1, 0.8413447461],
      [1.96, 0.9750021049],
      [3, 0.998650102],
    ];
    for (const [z, p] of printed) {
      expect(Math.abs(normalCdf(z) - p)).toBeLessThan(1e-6);
      expect(Math.abs(normalCdf(-z) - (1 - p))).toBeLessThan(1e-6);
    }
    expect([normalCdf(-9), normalCdf(9)]).toEqual([0, 1]);
  });

  it('has the density for its slope', () => {
    for (let z = -5; z <= 5; z += 0.37) {
      const slope = (normalCdf(z + 0.01) - normalCdf(z - 0.01)) / 0.02;
      expect(Math.abs(normalDensity(z) - slope)).toBeLessThan(1e-4);
    }
  });
});

describe('lightOfPixel', () => {
  it('is the linear light of a grey pixel', () => {
    for (const code of [0, 1, 10, 100, 200, 254, 255])
      expect(lightOfPixel(code, code, code)).toBeCloseTo(linearFromCode[code], 6);
  });
});
