import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type ExifOrientation, exifOrientationFrom, turnRaster } from '../../../server/images/turn-raster.js';

/** Undoes each orientation: quarter turns are each other's inverse, the rest are their own. */
const inverse: Record<ExifOrientation, ExifOrientation> = { 1: 1, 2: 2, 3: 3, 4: 4, 5: 5, 6: 8, 7: 7, 8: 6 };

describe('turnRaster', () => {
  it('is undone by the inverse orientation and leaves its input alone', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 70 }),
        fc.integer({ min: 1, max: 70 }),
        fc.constantFrom<1 | 3>(1, 3),
        fc.integer({ min: 1, max: 8 }),
        (widthPx, heightPx, channels, o) => {
          const orientation = o as ExifOrientation;
          const data = Uint8Array.from({ length: widthPx * heightPx * channels }, (_, i) => (i * 31) % 256);
          const before = data.slice();
          const raster = { widthPx, heightPx, channels, data };
          const back = turnRaster(turnRaster(raster, orientation), inverse[orientation]);
          expect(back).toEqual(raster);
          expect(data).toEqual(before);
        },
      ),
    );
  });

  it('takes reserved orientation values for upright', () => {
    expect([0, 9, 1.5, '6', undefined, null].map(exifOrientationFrom)).toEqual([1, 1, 1, 1, 1, 1]);
  });
});
