import { linearFromCode } from './linear-light.js';
import type { Raster } from './raster.js';

/** Linear-light brightness 0…1 of a photo at a point between pixels (mean of the channels, bilinear); NaN outside. */
export function linearBrightnessAt(raster: Raster, px: number, py: number): number {
  const { data, widthPx, heightPx } = raster;
  if (!(px >= 0 && py >= 0 && px < widthPx - 1 && py < heightPx - 1)) return Number.NaN;
  const x = px | 0;
  const y = py | 0;
  const fx = px - x;
  const fy = py - y;
  const a = (y * widthPx + x) * 3;
  const b = a + widthPx * 3;
  const lut = linearFromCode;
  const topLeft = lut[data[a]] + lut[data[a + 1]] + lut[data[a + 2]];
  const topRight = lut[data[a + 3]] + lut[data[a + 4]] + lut[data[a + 5]];
  const bottomLeft = lut[data[b]] + lut[data[b + 1]] + lut[data[b + 2]];
  const bottomRight = lut[data[b + 3]] + lut[data[b + 4]] + lut[data[b + 5]];
  const top = topLeft + fx * (topRight - topLeft);
  const bottom = bottomLeft + fx * (bottomRight - bottomLeft);
  return (top + fy * (bottom - top)) / 3;
}
