import { linearFromCode } from '../../images/linear-light.js';
import type { Raster } from '../../images/raster.js';

/**
 * A photo reduced by a whole number, three channels of linear light 0…1, row by row, interleaved.
 * A reduced position q and a photo position p meet at p = (q + 0.5)·scale − 0.5.
 */
export interface ReducedPhoto {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly scale: number;
  readonly linear: Float32Array;
}

/** Averages scale × scale pixels in linear light; what is left over at the right and lower border is dropped. */
export function reducePhoto(raster: Raster, scale: number): ReducedPhoto {
  const widthPx = Math.floor(raster.widthPx / scale);
  const heightPx = Math.floor(raster.heightPx / scale);
  const linear = new Float32Array(widthPx * heightPx * 3);
  const { data, channels } = raster;
  const green = channels === 3 ? 1 : 0;
  const blue = channels === 3 ? 2 : 0;
  const share = 1 / (scale * scale);
  for (let y = 0; y < heightPx; y++) {
    const rowOut = y * widthPx * 3;
    for (let dy = 0; dy < scale; dy++) {
      let from = (y * scale + dy) * raster.widthPx * channels;
      for (let x = 0; x < widthPx; x++) {
        let r = 0;
        let g = 0;
        let b = 0;
        for (let dx = 0; dx < scale; dx++, from += channels) {
          r += linearFromCode[data[from]];
          g += linearFromCode[data[from + green]];
          b += linearFromCode[data[from + blue]];
        }
        const to = rowOut + 3 * x;
        linear[to] += r * share;
        linear[to + 1] += g * share;
        linear[to + 2] += b * share;
      }
    }
  }
  return { widthPx, heightPx, scale, linear };
}

export function reducedFromPhoto(scale: number, p: number): number {
  return (p + 0.5) / scale - 0.5;
}

export function photoFromReduced(scale: number, q: number): number {
  return (q + 0.5) * scale - 0.5;
}
