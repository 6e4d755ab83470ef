import { describe, expect, it } from 'vitest';
import { linearBrightnessAt } from '../../../server/images/cross-profile.js';
import type { Raster } from '../../../server/images/raster.js';
import { sampleBrightest, sampleParabola } from '../../../server/images/sample-parabola.js';
import { seededRandom } from '../../support/seeded-random.js';

const random = seededRandom(31);
const raster: Raster = {
  widthPx: 60,
  heightPx: 50,
  channels: 3,
  data: Uint8Array.from({ length: 60 * 50 * 3 }, () => Math.floor(256 * random())),
};

describe('brightness along a parabola of the photo', () => {
  it.each([
    { name: 'inside', parabola: [30, 25, 18, -14, 0.7, -0.4] },
    { name: 'several places to a pixel', parabola: [20.3, 22.8, 3, 1.5, 0.05, 0.02] },
    { name: 'partly beyond the rim', parabola: [3, 47, 12, 7, -1, 0.5] },
  ])('is that of each of its places: $name', ({ parabola }) => {
    const count = 141;
    const [mx, my, sx, sy, bx, by] = parabola;
    const out = new Float32Array(count + 5);
    sampleParabola(raster, Float64Array.from(parabola), count, out, 5);
    for (let k = 0; k < count; k++) {
      const t = (2 * k) / (count - 1) - 1;
      const expected = linearBrightnessAt(raster, mx + t * sx + t * t * bx, my + t * sy + t * t * by);
      if (Number.isNaN(expected)) expect(out[5 + k]).toBeNaN();
      else expect(out[5 + k]).toBeCloseTo(expected, 5);
    }
  });

  it('is that of the brightest channel where that is asked for', () => {
    const parabola = Float64Array.of(8, 40, 14, 11, 0.7, -0.4);
    const brightest = sampleBrightest(raster, parabola, 141);
    const channels = [0, 1, 2].map((channel) => {
      const alone = { ...raster, channels: 1 as const, data: raster.data.filter((_, i) => i % 3 === channel) };
      const out = new Float32Array(141);
      sampleParabola(alone, parabola, 141, out, 0);
      return out;
    });
    expect(brightest.some(Number.isNaN)).toBe(true);
    expect(brightest.some((light) => light > 0.5)).toBe(true);
    brightest.forEach((light, k) => {
      const expected = Math.max(...channels.map((channel) => channel[k]));
      if (Number.isNaN(expected)) expect(light).toBeNaN();
      else expect(light).toBeCloseTo(expected, 5);
    });
  });

  it('is the same of one channel as of three that are alike', () => {
    const grey = { ...raster, channels: 1 as const, data: raster.data.filter((_, i) => i % 3 === 0) };
    const alike = { ...raster, data: raster.data.map((_, i) => raster.data[3 * Math.floor(i / 3)]) };
    const parabola = Float64Array.of(raster.widthPx / 2, raster.heightPx / 2, 9, 7, 1, -2);
    const [one, three] = [new Float32Array(90), new Float32Array(90)];
    sampleParabola(grey, parabola, 90, one, 0);
    sampleParabola(alike, parabola, 90, three, 0);
    for (let k = 0; k < 90; k++) expect(one[k]).toBeCloseTo(three[k], 5);
  });
});
