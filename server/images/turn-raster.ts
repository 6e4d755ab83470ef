import { assert } from '../base/assert.js';
import type { Raster } from './raster.js';

/** EXIF tag 0x0112: 1 upright, 2 mirrored, 3 half turn, 4 upside-down mirror, 5–8 the same with sides swapped. */
export type ExifOrientation = 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8;

/** Side of the square blocks that are turned at once, so that a turned column stays in the processor's cache. */
const BLOCK_PX = 32;

/** True when the upright picture is as wide as the stored one is high. */
export function swapsSides(orientation: ExifOrientation): boolean {
  return orientation >= 5;
}

/** Any value that is not one of 1…8 counts as upright (EXIF 2.32, 4.6.4: other values are reserved). */
export function exifOrientationFrom(value: unknown): ExifOrientation {
  return Number.isInteger(value) && (value as number) >= 1 && (value as number) <= 8 ? (value as ExifOrientation) : 1;
}

/**
 * The upright picture of one stored with an EXIF orientation (EXIF 2.32, tag 0x0112). The input is not changed; for
 * orientation 1 it is returned itself.
 */
export function turnRaster(raster: Raster, orientation: ExifOrientation): Raster {
  const { widthPx, heightPx, channels, data } = raster;
  assert(data.length === widthPx * heightPx * channels, 'raster data does not fit its size', data.length);
  if (orientation === 1) return raster;
  const swap = swapsSides(orientation);
  const outWidth = swap ? heightPx : widthPx;
  const outHeight = swap ? widthPx : heightPx;
  const out = new Uint8Array(data.length);
  const { start, stepX, stepY } = sourceSteps(orientation, widthPx, heightPx);
  for (let blockY = 0; blockY < outHeight; blockY += BLOCK_PX) {
    for (let blockX = 0; blockX < outWidth; blockX += BLOCK_PX) {
      const endY = Math.min(outHeight, blockY + BLOCK_PX);
      const endX = Math.min(outWidth, blockX + BLOCK_PX);
      for (let y = blockY; y < endY; y++) {
        let to = (y * outWidth + blockX) * channels;
        let from = (start + y * stepY + blockX * stepX) * channels;
        for (let x = blockX; x < endX; x++) {
          for (let c = 0; c < channels; c++) out[to + c] = data[from + c];
          to += channels;
          from += stepX * channels;
        }
      }
    }
  }
  return { widthPx: outWidth, heightPx: outHeight, channels, data: out };
}

/** Where the upright picture's first pixel is stored, and how far its neighbours to the right and below lie from it. */
function sourceSteps(orientation: ExifOrientation, w: number, h: number) {
  switch (orientation) {
    case 1:
      return { start: 0, stepX: 1, stepY: w };
    case 2:
      return { start: w - 1, stepX: -1, stepY: w };
    case 3:
      return { start: w * h - 1, stepX: -1, stepY: -w };
    case 4:
      return { start: (h - 1) * w, stepX: 1, stepY: -w };
    case 5:
      return { start: 0, stepX: w, stepY: 1 };
    case 6:
      return { start: (h - 1) * w, stepX: -w, stepY: 1 };
    case 7:
      return { start: w * h - 1, stepX: -w, stepY: -1 };
    case 8:
      return { start: w - 1, stepX: w, stepY: -1 };
  }
}
