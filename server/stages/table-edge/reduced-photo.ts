import { linearFromCode } from '../../images/linear-light.js';
import type { Raster } from '../../images/raster.js';

/**
 * A photo reduced by a whole number: three channels of tone (coded value over 255), row by row, interleaved.
 * A reduced position q and a photo position p meet at p = (q + 0.5)·scale − 0.5.
 */
export interface ReducedPhoto {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly scale: number;
  readonly tone: Float32Array;
}

/** Coded value over 255 of linear light in steps of 1/4095 (IEC 61966-2-1:1999). */
const toneFromLinear: Float32Array = Float32Array.from({ length: 4096 }, (_, i) => {
  const linear = i / 4095;
  return linear <= 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055;
});

/** Averages scale × scale pixels in linear light; what is left over at the right and lower border is dropped. */
export function reducePhoto(raster: Raster, scale: number): ReducedPhoto {
  const widthPx = Math.floor(raster.widthPx / scale);
  const heightPx = Math.floor(raster.heightPx / scale);
  const tone = new Float32Array(widthPx * heightPx * 3);
  const { data, channels } = raster;
  const green = channels === 3 ? 1 : 0;
  const blue = channels === 3 ? 2 : 0;
  const share = 1 / (scale * scale);
  const row = raster.widthPx * channels;
  for (let y = 0; y < heightPx; y++)
    for (let x = 0; x < widthPx; x++) {
      let red = 0;
      let greens = 0;
      let blues = 0;
      for (let dy = 0; dy < scale; dy++) {
        let from = (y * scale + dy) * row + x * scale * channels;
        let r = 0;
        let g = 0;
        let b = 0;
        for (let dx = 0; dx < scale; dx++, from += channels) {
          r += linearFromCode[data[from]];
          g += linearFromCode[data[from + green]];
          b += linearFromCode[data[from + blue]];
        }
        red = Math.fround(red + r * share);
        greens = Math.fround(greens + g * share);
        blues = Math.fround(blues + b * share);
      }
      const to = 3 * (y * widthPx + x);
      tone[to] = toneFromLinear[(4095 * red + 0.5) | 0];
      tone[to + 1] = toneFromLinear[(4095 * greens + 0.5) | 0];
      tone[to + 2] = toneFromLinear[(4095 * blues + 0.5) | 0];
    }
  return { widthPx, heightPx, scale, tone };
}

export function reducedFromPhoto(scale: number, p: number): number {
  return (p + 0.5) / scale - 0.5;
}

export function photoFromReduced(scale: number, q: number): number {
  return (q + 0.5) * scale - 0.5;
}
