import type { Raster } from './raster.js';

/** Bilinear value of a one-channel picture at (x, y) px; beyond the rim the rim's own pixels continue. */
export function sampleGrey(raster: Raster, x: number, y: number): number {
  const { widthPx, heightPx, data } = raster;
  const cx = x < 0 ? 0 : Math.min(x, widthPx - 1);
  const cy = y < 0 ? 0 : Math.min(y, heightPx - 1);
  const x0 = cx | 0;
  const y0 = cy | 0;
  const x1 = x0 + 1 < widthPx ? x0 + 1 : x0;
  const y1 = y0 + 1 < heightPx ? y0 + 1 : y0;
  const fx = cx - x0;
  const fy = cy - y0;
  const top = data[y0 * widthPx + x0] * (1 - fx) + data[y0 * widthPx + x1] * fx;
  const bottom = data[y1 * widthPx + x0] * (1 - fx) + data[y1 * widthPx + x1] * fx;
  return top * (1 - fy) + bottom * fy;
}
