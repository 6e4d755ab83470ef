import { describe, expect, it } from 'vitest';
import { smoothed, smoothedTwice } from '../../../../server/stages/rails/even-line.js';
import { seededRandom } from '../../../support/seeded-random.js';

const radiusMm = 380;

/** Places every 8 mm round a circle, off it by up to so much. */
function circle(offMm: number) {
  const random = seededRandom(5);
  return Array.from({ length: 298 }, (_, i) => {
    const r = radiusMm + offMm * (2 * random() - 1);
    return { x: r * Math.cos((2 * Math.PI * i) / 298), y: r * Math.sin((2 * Math.PI * i) / 298) };
  });
}

const offOf = ({ x, y }: { x: number; y: number }): number => Math.hypot(x, y) - radiusMm;

describe('a line that is evened out', () => {
  it('is drawn in where it bends, and twice smoothed it is not', () => {
    for (const p of smoothed(circle(0), true, 12)) expect(offOf(p)).toBeLessThan(-0.4);
    for (const p of smoothedTwice(circle(0), true, 12)) expect(Math.abs(offOf(p))).toBeLessThan(0.001);
  });

  it('scatters less', () => {
    const rms = (points: readonly { x: number; y: number }[]): number =>
      Math.sqrt(points.reduce((sum, p) => sum + offOf(p) ** 2, 0) / points.length);
    expect(rms(smoothedTwice(circle(0.5), true, 12))).toBeLessThan(0.5 * rms(circle(0.5)));
  });

  it('keeps its ends', () => {
    const line = circle(0.5).slice(0, 60);
    const smooth = smoothedTwice(line, false, 12);
    expect(smooth[0]).toEqual(line[0]);
    expect(smooth[59]).toEqual(line[59]);
  });
});
