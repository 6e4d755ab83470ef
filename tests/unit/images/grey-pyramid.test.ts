import { describe, expect, it } from 'vitest';
import {
  doubleGrey,
  fromPyramidLevel,
  greyFromRgb,
  greyPyramid,
  halveGrey,
  toPyramidLevel,
} from '../../../server/images/grey-pyramid.js';
import { sourceSha256 } from '../../../server/images/grey-pyramid-kernel.js';
import type { Raster } from '../../../server/images/raster.js';
import { sha256Of } from '../../support/kernel-source.js';
import { seededRandom } from '../../support/seeded-random.js';

describe('greyFromRgb', () => {
  it('weighs the colours as ITU-R BT.601 does (0.299, 0.587, 0.114), to one code', () => {
    const data = Uint8Array.from({ length: 300 }, (_, i) => (i * 73) % 256);
    const grey = greyFromRgb({ widthPx: 10, heightPx: 10, channels: 3, data });
    for (let i = 0; i < 100; i++) {
      const luma = 0.299 * data[3 * i] + 0.587 * data[3 * i + 1] + 0.114 * data[3 * i + 2];
      expect(Math.abs(grey.data[i] - luma)).toBeLessThan(1);
    }
  });

  it('keeps black black and white white', () => {
    const data = Uint8Array.of(0, 0, 0, 255, 255, 255);
    expect([...greyFromRgb({ widthPx: 2, heightPx: 1, channels: 3, data }).data]).toEqual([0, 255]);
  });
});

describe('the compiled inner loops', () => {
  const random = seededRandom(11);
  const widthPx = 1003;
  const heightPx = 655;
  const data = Uint8Array.from({ length: widthPx * heightPx * 3 }, () => 256 * random());

  it('make of a picture of many bands what plain ones do', () => {
    const grey = greyFromRgb({ widthPx, heightPx, channels: 3, data });
    const wrong = grey.data.findIndex(
      (v, i) => v !== (77 * data[3 * i] + 150 * data[3 * i + 1] + 29 * data[3 * i + 2] + 128) >> 8,
    );
    expect(wrong).toBe(-1);
    const half = halveGrey(grey);
    const sumOf = (x: number, y: number): number =>
      grey.data[y * widthPx + x] + grey.data[y * widthPx + x + 1] + grey.data[(y + 1) * widthPx + x];
    const unlike = half.data.findIndex((v, i) => {
      const [x, y] = [2 * (i % 501), 2 * Math.floor(i / 501)];
      return v !== (sumOf(x, y) + grey.data[(y + 1) * widthPx + x + 1] + 2) >> 2;
    });
    expect([half.widthPx, half.heightPx, unlike]).toEqual([501, 327, -1]);
  });

  it('stem from their source as it is: node server/kernels/build.mjs compiles it again', () => {
    expect(sha256Of('grey-pyramid')).toBe(sourceSha256);
  });
});

describe('greyPyramid', () => {
  const ramp = (widthPx: number, heightPx: number): Raster => ({
    widthPx,
    heightPx,
    channels: 1,
    data: Uint8Array.from({ length: widthPx * heightPx }, (_, i) => (i % widthPx) + Math.floor(i / widthPx)),
  });

  it('keeps an even slope where it was, by the named change of coordinates', () => {
    const levels = greyPyramid(ramp(96, 80), 20);
    expect(levels.map((l) => l.widthPx)).toEqual([96, 48, 24]);
    levels.forEach((level, n) => {
      for (const [x, y] of [
        [3, 5],
        [10, 8],
      ]) {
        const expected = fromPyramidLevel(x, n) + fromPyramidLevel(y, n);
        expect(Math.abs(level.data[y * level.widthPx + x] - expected)).toBeLessThanOrEqual(0.5);
      }
    });
  });

  it('drops an odd last row and column', () => {
    const half = halveGrey(ramp(7, 5));
    expect([half.widthPx, half.heightPx]).toEqual([3, 2]);
  });

  it('changes coordinates there and back', () => {
    for (const level of [0, 1, 4]) expect(toPyramidLevel(fromPyramidLevel(12.25, level), level)).toBeCloseTo(12.25, 12);
  });
});

describe('doubleGrey', () => {
  it('keeps an even slope where it was, and is undone by halving', () => {
    const slope: Raster = {
      widthPx: 12,
      heightPx: 9,
      channels: 1,
      data: Uint8Array.from({ length: 108 }, (_, i) => 8 * (i % 12) + 4 * Math.floor(i / 12)),
    };
    const doubled = doubleGrey(slope);
    expect([doubled.widthPx, doubled.heightPx]).toEqual([24, 18]);
    for (let y = 1; y < 17; y++)
      for (let x = 1; x < 23; x++) {
        const expected = 8 * fromPyramidLevel(x, -1) + 4 * fromPyramidLevel(y, -1);
        expect(Math.abs(doubled.data[y * 24 + x] - expected)).toBeLessThanOrEqual(0.5);
      }
    const again = halveGrey(doubled);
    // Only the rim, which continues evenly beyond, differs.
    for (let y = 1; y < 8; y++)
      for (let x = 1; x < 11; x++)
        expect(Math.abs(again.data[y * 12 + x] - slope.data[y * 12 + x])).toBeLessThanOrEqual(1);
  });

  it('doubles a picture of one pixel', () => {
    expect([...doubleGrey({ widthPx: 1, heightPx: 1, channels: 1, data: Uint8Array.of(77) }).data]).toEqual([
      77, 77, 77, 77,
    ]);
  });
});
