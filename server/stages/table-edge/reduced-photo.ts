import { linearFromCode } from '../../images/linear-light.js';
import type { Raster } from '../../images/raster.js';
import { sharedFloats } from '../../images/spare-memory.js';
import { fillLook } from './tone-look.js';

/**
 * A photo reduced by a whole number: three channels of tone (coded value over 255), row by row, interleaved.
 * A reduced position q and a photo position p meet at p = (q + 0.5)·scale − 0.5.
 */
export interface ReducedPhoto {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly scale: number;
  readonly tone: Float32Array;
  /** What each pixel looks like, as in tone-look.ts: three numbers, interleaved. */
  readonly look: Float32Array;
}

/** Coded value over 255 of linear light in steps of 1/4095 (IEC 61966-2-1:1999). */
const toneFromLinear: Float32Array = Float32Array.from({ length: 4096 }, (_, i) => {
  const linear = i / 4095;
  return linear <= 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055;
});

/** Linear light of each code in parts of 2^20: whole numbers are summed faster, and 2^11 pixels may be summed. */
const lightOfCode: Int32Array = Int32Array.from(linearFromCode, (light) => Math.round(light * 2 ** 20));

/**
 * Averages squares of pixels in linear light; what is left over at the right and lower border is dropped.
 * @param longestPx about so many pixels remain on the longer side
 */
export function reducePhoto(raster: Raster, longestPx: number): ReducedPhoto {
  const scale = Math.max(1, Math.round(Math.max(raster.widthPx, raster.heightPx) / longestPx));
  const widthPx = Math.floor(raster.widthPx / scale);
  const heightPx = Math.floor(raster.heightPx / scale);
  const tone = sharedFloats(widthPx * heightPx * 3);
  const look = sharedFloats(tone.length);
  const { data, channels } = raster;
  const green = channels === 3 ? 1 : 0;
  const blue = channels === 3 ? 2 : 0;
  const share = 4095 / (scale * scale * 2 ** 20);
  const row = raster.widthPx * channels;
  // Row by row of the photo, into the sums of one reduced row.
  const sums = new Int32Array(3 * widthPx);
  for (let y = 0; y < heightPx; y++) {
    sums.fill(0);
    for (let dy = 0; dy < scale; dy++) {
      let from = (y * scale + dy) * row;
      for (let to = 0; to < sums.length; to += 3) {
        let r = 0;
        let g = 0;
        let b = 0;
        for (let dx = 0; dx < scale; dx++, from += channels) {
          r += lightOfCode[data[from]];
          g += lightOfCode[data[from + green]];
          b += lightOfCode[data[from + blue]];
        }
        sums[to] += r;
        sums[to + 1] += g;
        sums[to + 2] += b;
      }
    }
    const start = 3 * y * widthPx;
    for (let i = 0; i < sums.length; i++) tone[start + i] = toneFromLinear[(sums[i] * share + 0.5) | 0];
  }
  fillLook(tone, widthPx, heightPx, look);
  return { widthPx, heightPx, scale, tone, look };
}

export function reducedFromPhoto(scale: number, p: number): number {
  return (p + 0.5) / scale - 0.5;
}

export function photoFromReduced(scale: number, q: number): number {
  return (q + 0.5) * scale - 0.5;
}
