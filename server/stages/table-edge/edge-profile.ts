import { linearFromCode } from '../../images/linear-light.js';
import type { Raster } from '../../images/raster.js';

/** Steps across an edge at which a profile is sampled, pixels. */
export const profileStepPx = 0.5;

/**
 * Mean linear light across an edge: three channels at steps of profileStepPx from −reachPx to +reachPx along the normal,
 * averaged over alongPx pixels of the edge's length. Interleaved.
 */
export function sampleProfile(
  raster: Raster,
  px: number,
  py: number,
  nx: number,
  ny: number,
  reachPx: number,
  alongPx: number,
  out: Float64Array,
): void {
  const { widthPx, heightPx, channels, data } = raster;
  const count = Math.round((2 * reachPx) / profileStepPx) + 1;
  const green = channels === 3 ? 1 : 0;
  const blue = channels === 3 ? 2 : 0;
  const row = widthPx * channels;
  out.fill(0);
  for (let k = 0; k < alongPx; k++) {
    const along = k - (alongPx - 1) / 2;
    for (let i = 0; i < count; i++) {
      const t = i * profileStepPx - reachPx;
      const x = Math.min(Math.max(px - along * ny + t * nx, 0), widthPx - 1.001);
      const y = Math.min(Math.max(py + along * nx + t * ny, 0), heightPx - 1.001);
      const x0 = Math.floor(x);
      const y0 = Math.floor(y);
      const fx = x - x0;
      const fy = y - y0;
      const a = (1 - fx) * (1 - fy);
      const b = fx * (1 - fy);
      const c = (1 - fx) * fy;
      const d = fx * fy;
      const at = y0 * row + x0 * channels;
      for (let channel = 0; channel < 3; channel++) {
        const o = at + (channel === 0 ? 0 : channel === 1 ? green : blue);
        out[3 * i + channel] +=
          (a * linearFromCode[data[o]] +
            b * linearFromCode[data[o + channels]] +
            c * linearFromCode[data[o + row]] +
            d * linearFromCode[data[o + row + channels]]) /
          alongPx;
      }
    }
  }
}
