import { describe, expect, it } from 'vitest';
import { meanOf, slitOf } from '../../../server/pipeline/merge-joints.js';
import { normalFrom, seededRandom } from '../../support/seeded-random.js';

describe('what several photos say of one slit', () => {
  const narrow = { value: 0.6, u: 0.4 };
  const wide = { value: 1.7, u: 0.35 };

  it('is their mean where they agree, and as sure', () => {
    const alike = [
      { value: 1.2, u: 0.22 },
      { value: 1.3, u: 0.25 },
      { value: 1.1, u: 0.24 },
    ];
    const [mean, slit] = [meanOf(alike), slitOf(alike)];
    expect(Math.abs(slit.value - mean.value)).toBeLessThan(0.05);
    expect(Math.abs(slit.u - mean.u)).toBeLessThan(0.04);
    expect(slitOf([wide])).toEqual(wide);
  });

  it('is nearer to the wider of two that do not agree, as light makes slits look narrow, and less sure', () => {
    const slit = slitOf([narrow, wide]);
    expect(slit.value).toBeGreaterThan(meanOf([narrow, wide]).value + 0.1);
    expect(slit.value).toBeLessThan(wide.value);
    expect(slit.u).toBeGreaterThan(meanOf([wide, wide]).u);
    expect(slitOf([wide, narrow]).value).toBeCloseTo(slit.value, 9);
  });

  it('is one of their mean where no width is likely at all', () => {
    const far = [
      { value: 0.2, u: 0.001 },
      { value: 4, u: 0.001 },
    ];
    expect(Number.isFinite(slitOf(far).value)).toBe(true);
  });

  it('is right on average of drawn readings, light in one of seven, where the mean is too narrow', () => {
    const random = seededRandom(11);
    const noise = normalFrom(random);
    const [mean, slit] = [[], []] as [number[], number[]];
    for (let k = 0; k < 2000; k++) {
      const trueMm = 1 + random();
      const read = (): { value: number; u: number } => {
        const lit = random() < 1 / 7 ? 1.2 * random() : 0;
        return { value: Math.max(0, trueMm - lit + 0.22 * noise()), u: 0.22 };
      };
      const readings = [read(), read(), read()];
      mean.push(meanOf(readings).value - trueMm);
      slit.push(slitOf(readings).value - trueMm);
    }
    const off = (list: readonly number[]): number => list.reduce((a, b) => a + b, 0) / list.length;
    const p95 = (list: readonly number[]): number =>
      list.map(Math.abs).sort((a, b) => a - b)[Math.floor(0.95 * list.length)];
    expect(off(mean)).toBeLessThan(-0.07);
    expect(Math.abs(off(slit))).toBeLessThan(0.05);
    expect(p95(slit)).toBeLessThan(0.85 * p95(mean));
  });
});
