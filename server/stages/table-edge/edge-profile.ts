import { linearFromCode } from '../../images/linear-light.js';
import type { Raster } from '../../images/raster.js';
import type { FinishModel } from './finish-model.js';
import { reducedFromPhoto } from './reduced-photo.js';

/** Steps across an edge at which a profile is sampled, pixels. */
export const profileStepPx = 0.5;

/**
 * Light and colour across an edge from −reachPx to +reachPx along the outward normal. Photos carry colour at half the
 * resolution of brightness (4:2:0), so an edge in colour is three times as soft: the two are kept apart.
 */
export interface EdgeProfile {
  readonly reachPx: number;
  readonly count: number;
  /** Four values a step: brightness in linear light 0…1, brightness as coded 0…1, and Cb, Cr (ITU-T T.871) −0.5…0.5. */
  readonly values: Float64Array;
  /** Photo position of the middle. */
  px: number;
  py: number;
}

export const valuesAStep = 4;

export function emptyProfile(reachPx: number): EdgeProfile {
  const count = Math.round((2 * reachPx) / profileStepPx) + 1;
  return { reachPx, count, values: new Float64Array(valuesAStep * count), px: 0, py: 0 };
}

/** Linear light of coded brightness in quarters of a code. */
const linearFromQuarterCode: Float32Array = Float32Array.from({ length: 1024 }, (_, q) => {
  const low = Math.min(255, q >> 2);
  const high = Math.min(255, low + 1);
  return linearFromCode[low] + ((q & 3) / 4) * (linearFromCode[high] - linearFromCode[low]);
});

/**
 * Fills a profile with the mean over alongPx pixels of the edge's length, bilinear, the border repeated.
 * @param px place on the edge, photo frame
 * @param nx unit normal, outwards
 */
export function sampleProfile(
  raster: Raster,
  px: number,
  py: number,
  nx: number,
  ny: number,
  alongPx: number,
  out: EdgeProfile,
): void {
  const { widthPx, heightPx, channels, data } = raster;
  const { reachPx, count, values } = out;
  const green = channels === 3 ? 1 : 0;
  const blue = channels === 3 ? 2 : 0;
  const row = widthPx * channels;
  const share = 1 / alongPx;
  values.fill(0);
  out.px = px;
  out.py = py;
  // Brightness as coded, in linear light, red and blue of the pixels around a place: upper left and right, lower left and
  // right. Several places in a row lie between the same four, which are looked up once.
  let known = -1;
  let la = 0;
  let lp = 0;
  let lq = 0;
  let lr = 0;
  let ea = 0;
  let ep = 0;
  let eq = 0;
  let er = 0;
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
      const at = y0 * row + x0 * channels;
      const p = at + channels;
      const q = at + row;
      const r = q + channels;
      if (at !== known) {
        known = at;
        la = 0.299 * data[at] + 0.587 * data[at + green] + 0.114 * data[at + blue];
        lp = 0.299 * data[p] + 0.587 * data[p + green] + 0.114 * data[p + blue];
        lq = 0.299 * data[q] + 0.587 * data[q + green] + 0.114 * data[q + blue];
        lr = 0.299 * data[r] + 0.587 * data[r + green] + 0.114 * data[r + blue];
        ea = linearFromQuarterCode[(4 * la + 0.5) | 0];
        ep = linearFromQuarterCode[(4 * lp + 0.5) | 0];
        eq = linearFromQuarterCode[(4 * lq + 0.5) | 0];
        er = linearFromQuarterCode[(4 * lr + 0.5) | 0];
      }
      const wa = (1 - fx) * (1 - fy);
      const wp = fx * (1 - fy);
      const wq = (1 - fx) * fy;
      const wr = fx * fy;
      const light = wa * ea + wp * ep + wq * eq + wr * er;
      const luma = wa * la + wp * lp + wq * lq + wr * lr;
      const red = wa * data[at] + wp * data[p] + wq * data[q] + wr * data[r];
      const blueSum = wa * data[at + blue] + wp * data[p + blue] + wq * data[q + blue] + wr * data[r + blue];
      const to = valuesAStep * i;
      values[to] += share * light;
      values[to + 1] += (share * luma) / 255;
      values[to + 2] += (share * 0.564 * (blueSum - luma)) / 255;
      values[to + 3] += (share * 0.713 * (red - luma)) / 255;
    }
  }
}

/** Tone of red, green and blue (coded value over 255) at one step. */
function toneAt(values: Float64Array, i: number, out: Float64Array): void {
  const y = values[valuesAStep * i + 1];
  const cb = values[valuesAStep * i + 2];
  const cr = values[valuesAStep * i + 3];
  out[0] = Math.max(0, y + 1.402 * cr);
  out[1] = Math.max(0, y - 0.344136 * cb - 0.714136 * cr);
  out[2] = Math.max(0, y + 1.772 * cb);
}

/** Height of the step at each place of a profile: difference of the means of bandPx on both sides, contrast units. */
export function stepHeights(profile: EdgeProfile, finish: FinishModel, bandPx: number): Float64Array {
  const { count, values } = profile;
  const w = finish.whitening;
  const white = new Float64Array(3 * (count + 1));
  const tone = new Float64Array(3);
  for (let i = 0; i < count; i++) {
    toneAt(values, i, tone);
    // Running sums, so that each band costs the same.
    white[3 * i + 3] = white[3 * i] + w[0] * tone[0];
    white[3 * i + 4] = white[3 * i + 1] + w[1] * tone[0] + w[2] * tone[1];
    white[3 * i + 5] = white[3 * i + 2] + w[3] * tone[0] + w[4] * tone[1] + w[5] * tone[2];
  }
  const band = Math.round(bandPx / profileStepPx);
  const heights = new Float64Array(count);
  for (let i = band; i < count - band; i++) {
    let square = 0;
    for (let c = 0; c < 3; c++) {
      const before = white[3 * i + c] - white[3 * (i - band) + c];
      const after = white[3 * (i + 1 + band) + c] - white[3 * (i + 1) + c];
      square += ((after - before) / band) ** 2;
    }
    heights[i] = Math.sqrt(square);
  }
  return heights;
}

/** How much a stretch of a profile (pixels along the normal) looks like the table top, 0…1. */
export function profileLikeness(profile: EdgeProfile, finish: FinishModel, fromPx: number, toPx: number): number {
  const { reachPx, count, values } = profile;
  const low = Math.max(0, Math.round((fromPx + reachPx) / profileStepPx));
  const high = Math.min(count - 1, Math.round((toPx + reachPx) / profileStepPx));
  const tone = new Float64Array(3);
  const qx = reducedFromPhoto(finish.scale, profile.px);
  const qy = reducedFromPhoto(finish.scale, profile.py);
  let sum = 0;
  for (let i = low; i <= high; i++) {
    toneAt(values, i, tone);
    sum += finish.likenessOf(tone[0], tone[1], tone[2], qx, qy);
  }
  return high >= low ? sum / (high - low + 1) : 0;
}
