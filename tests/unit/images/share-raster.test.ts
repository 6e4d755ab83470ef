import { describe, expect, it } from 'vitest';
import { giveBackLevels, greyLevels } from '../../../server/images/grey-pyramid.js';
import type { Raster } from '../../../server/images/raster.js';
import { sharedRaster } from '../../../server/images/share-raster.js';

const picture = (widthPx: number, first: number): Raster => {
  const data = Uint8Array.from({ length: 3 * widthPx * 64 }, (_, i) => (first + i * 7919) % 256);
  return { widthPx, heightPx: 64, channels: 3, data };
};

describe('pictures in shared memory', () => {
  it('hold what they held before', () => {
    const whole = picture(300, 5);
    const shared = sharedRaster(whole);
    expect(shared.data.buffer).toBeInstanceOf(SharedArrayBuffer);
    expect(shared).toEqual(whole);
    expect(sharedRaster(shared)).toBe(shared);
  });

  it('take the memory of pictures that were given back, and of no others', () => {
    const first = sharedRaster(picture(300, 1));
    const levels = greyLevels(first);
    giveBackLevels(first);
    giveBackLevels(first);
    const second = sharedRaster(picture(290, 2));
    expect(second.data.buffer).toBe(first.data.buffer);
    expect(second).toEqual(picture(290, 2));
    expect(greyLevels(second)[0].data.buffer).toBe(levels[0].data.buffer);
    expect(greyLevels(second)).toEqual(greyLevels(picture(290, 2)));
    // Given back twice it is there but once, and far too large a memory is not wasted on a small picture.
    expect(sharedRaster(picture(300, 3)).data.buffer).not.toBe(first.data.buffer);
    giveBackLevels(second);
    expect(sharedRaster(picture(100, 4)).data.buffer).not.toBe(second.data.buffer);
  });
});
