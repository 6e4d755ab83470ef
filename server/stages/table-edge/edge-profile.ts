import { linearFromCode } from '../../images/linear-light.js';
import type { Raster } from '../../images/raster.js';
import type { FinishLook } from './finish-model.js';
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
  values.fill(0);
  out.px = px;
  out.py = py;
  // Linear light, brightness as coded, red and blue at the upper left of the four pixels around a place, and how each grows
  // across (x), down (y), and across and down (d). Several places in a row lie between the same four, which are looked up
  // once.
  let known = -1;
  let e = 0;
  let ex = 0;
  let ey = 0;
  let ed = 0;
  let l = 0;
  let lx = 0;
  let ly = 0;
  let ld = 0;
  let r = 0;
  let rx = 0;
  let ry = 0;
  let rd = 0;
  let b = 0;
  let bx = 0;
  let by = 0;
  let bd = 0;
  for (let k = 0; k < alongPx; k++) {
    const along = k - (alongPx - 1) / 2;
    const startX = px - along * ny - reachPx * nx;
    const startY = py + along * nx - reachPx * ny;
    for (let i = 0, to = 0; i < count; i++, to += valuesAStep) {
      const x = Math.min(Math.max(startX + i * profileStepPx * nx, 0), widthPx - 1.001);
      const y = Math.min(Math.max(startY + i * profileStepPx * ny, 0), heightPx - 1.001);
      const x0 = x | 0;
      const y0 = y | 0;
      const fx = x - x0;
      const fy = y - y0;
      const at = y0 * row + x0 * channels;
      if (at !== known) {
        known = at;
        const p = at + channels;
        const q = at + row;
        const s = q + channels;
        l = 0.299 * data[at] + 0.587 * data[at + green] + 0.114 * data[at + blue];
        const lp = 0.299 * data[p] + 0.587 * data[p + green] + 0.114 * data[p + blue];
        const lq = 0.299 * data[q] + 0.587 * data[q + green] + 0.114 * data[q + blue];
        const ls = 0.299 * data[s] + 0.587 * data[s + green] + 0.114 * data[s + blue];
        lx = lp - l;
        ly = lq - l;
        ld = ls - lp - ly;
        e = linearFromQuarterCode[(4 * l + 0.5) | 0];
        const ep = linearFromQuarterCode[(4 * lp + 0.5) | 0];
        const eq = linearFromQuarterCode[(4 * lq + 0.5) | 0];
        ex = ep - e;
        ey = eq - e;
        ed = linearFromQuarterCode[(4 * ls + 0.5) | 0] - ep - ey;
        r = data[at];
        rx = data[p] - r;
        ry = data[q] - r;
        rd = data[s] - data[p] - ry;
        b = data[at + blue];
        bx = data[p + blue] - b;
        by = data[q + blue] - b;
        bd = data[s + blue] - data[p + blue] - by;
      }
      values[to] += e + fx * ex + fy * (ey + fx * ed);
      values[to + 1] += l + fx * lx + fy * (ly + fx * ld);
      values[to + 2] += b + fx * bx + fy * (by + fx * bd);
      values[to + 3] += r + fx * rx + fy * (ry + fx * rd);
    }
  }
  const share = 1 / alongPx;
  const shareOfCode = share / 255;
  for (let to = 0; to < valuesAStep * count; to += valuesAStep) {
    const luma = values[to + 1];
    values[to] *= share;
    values[to + 1] = shareOfCode * luma;
    values[to + 2] = shareOfCode * 0.564 * (values[to + 2] - luma);
    values[to + 3] = shareOfCode * 0.713 * (values[to + 3] - luma);
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
export function stepHeights(profile: EdgeProfile, finish: FinishLook, bandPx: number): Float64Array {
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

/**
 * How much a stretch of a profile (pixels along the normal) looks like the table top, 0…1.
 * @param times how many times as bright, as coded, it would be without a shade that lies on it
 */
export function profileLikeness(
  profile: EdgeProfile,
  finish: FinishLook,
  fromPx: number,
  toPx: number,
  times = 1,
): number {
  const { reachPx, count, values } = profile;
  const low = Math.max(0, Math.round((fromPx + reachPx) / profileStepPx));
  const high = Math.min(count - 1, Math.round((toPx + reachPx) / profileStepPx));
  const tone = new Float64Array(3);
  const qx = reducedFromPhoto(finish.scale, profile.px);
  const qy = reducedFromPhoto(finish.scale, profile.py);
  let sum = 0;
  for (let i = low; i <= high; i++) {
    toneAt(values, i, tone);
    sum += finish.likenessOf(times * tone[0], times * tone[1], times * tone[2], qx, qy);
  }
  return high >= low ? sum / (high - low + 1) : 0;
}
