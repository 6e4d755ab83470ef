import { giveBack, sharedFloats } from '../../images/spare-memory.js';
import { choleskyInPlace } from '../../linalg/cholesky.js';
import { expectedInRow, expectedLook, type FinishField, growField, lookInRow } from './finish-field.js';
import type { ReducedPhoto } from './reduced-photo.js';
import { lookOfTone } from './tone-look.js';

/**
 * What the table top looks like in one photo: its colour, and how much two neighbouring patches of it differ.
 * Both are learned from places that must be table top, so no finish is known beforehand.
 */
export interface FinishModel extends FinishLook, FinishColours {
  /** 0…1 for each reduced pixel: does it look like the table top? Row by row. */
  readonly likeness: Float32Array;
  /**
   * The reduced photo in units in which two neighbouring patches of bare table top differ by about 1 in each of the
   * three channels, uncorrelated; interleaved, row by row.
   */
  readonly contrast: Float32Array;
}

/** What is asked of the table top's look once its sides are found. */
export interface FinishLook {
  /** Photo pixels to a reduced pixel. */
  readonly scale: number;
  /** Likeness of one colour (tone: the coded value over 255) at a place of the reduced photo. */
  readonly likenessOf: (r: number, g: number, b: number, qx: number, qy: number) => number;
  /** Lower triangle (row by row) that turns tone into the units of `contrast`. */
  readonly whitening: readonly number[];
}

/** A table top's look as it was learned: all that another thread needs of it once the sides are found. */
export interface FinishColours {
  readonly scale: number;
  readonly field: FinishField;
  /** Inverted lower Cholesky factor of the field's covariance, row by row. */
  readonly spread: readonly number[];
  readonly whitening: readonly number[];
}

export function lookOfFinish({ scale, field, spread, whitening: w }: FinishColours): FinishLook {
  const f = new Float64Array(3);
  const expected = new Float64Array(3);
  const likenessOf = (r: number, g: number, b: number, qx: number, qy: number): number => {
    lookOfTone(r, g, b, f);
    expectedLook(field, qx, qy, expected);
    return likenessTo(spread, expected, f[0], f[1], f[2]);
  };
  return { scale, likenessOf, whitening: w };
}

/** The colours of a model alone. */
export function coloursOf({ scale, field, spread, whitening: w }: FinishModel): FinishColours {
  return { scale, field, spread, whitening: w };
}

function likenessTo(spread: readonly number[], expected: Float64Array, l: number, a: number, b: number): number {
  const m = squareFrom(spread, l - expected[0], a - expected[1], b - expected[2]) / 9;
  return 1 / (1 + m * m);
}

/** Least spread of log tone, red–green and blue–green that is allowed for. */
export type SpreadFloor = readonly [number, number, number];

/** Allows for gloss, shade and dirt on the table top (common practice, no source). */
export const tolerantFloor: SpreadFloor = [0.08, 0.02, 0.02];

/** Tells a table top from a floor of nearly the same colour (common practice, no source). */
export const strictFloor: SpreadFloor = [0.025, 0.006, 0.006];
/** Smallest difference of tone that counts: about 1.5 codes. */
const toneFloor = 0.006;

/** Lower Cholesky factor of a 3 × 3 covariance, inverted (lower triangle: 6 numbers, row by row). */
function whitening(covariance: Float64Array): [number, number, number, number, number, number] {
  const l = Float64Array.from(covariance);
  choleskyInPlace(l, 3);
  const a = 1 / l[0];
  const c = 1 / l[4];
  const f = 1 / l[8];
  const b = -l[3] * a * c;
  const e = -l[7] * c * f;
  const d = -(l[6] * a + l[7] * b) * f;
  return [a, b, c, d, e, f];
}

/** The place where the samples lie densest, of up to 400 of them. */
function densest(samples: Float64Array, count: number): [number, number, number] {
  const stride = Math.max(1, Math.floor(count / 400));
  let best = -1;
  let at = 0;
  for (let i = 0; i < count; i += stride) {
    let density = 0;
    for (let j = 0; j < count; j++) {
      const dl = (samples[3 * i] - samples[3 * j]) / 0.12;
      const da = (samples[3 * i + 1] - samples[3 * j + 1]) / 0.045;
      const db = (samples[3 * i + 2] - samples[3 * j + 2]) / 0.045;
      const d2 = dl * dl + da * da + db * db;
      // What is farther off adds less than 1e-5.
      if (d2 < 23) density += Math.exp(-d2 / 2);
    }
    if (density > best) {
      best = density;
      at = i;
    }
  }
  return [samples[3 * at], samples[3 * at + 1], samples[3 * at + 2]];
}

interface Colour {
  readonly mean: readonly number[];
  readonly white: readonly number[];
}

function square(colour: Colour, f: Float64Array, at: number): number {
  return squareFrom(colour.white, f[at] - colour.mean[0], f[at + 1] - colour.mean[1], f[at + 2] - colour.mean[2]);
}

function squareFrom(w: readonly number[], x: number, y: number, z: number): number {
  const p = w[0] * x;
  const q = w[1] * x + w[2] * y;
  const r = w[3] * x + w[4] * y + w[5] * z;
  return p * p + q * q + r * r;
}

/** Mean and spread of the densest cluster: a Gaussian trimmed at three sigma, repeated. */
function dominantColour(samples: Float64Array, count: number, floor: SpreadFloor): Colour {
  const covariance = floorCovariance(floor);
  let colour: Colour = { mean: densest(samples, count), white: whitening(covariance) };
  for (let round = 0; round < 5; round++) {
    const sum = new Float64Array(3);
    const product = new Float64Array(9);
    let n = 0;
    for (let i = 0; i < count; i++) {
      if (square(colour, samples, 3 * i) > 9) continue;
      n++;
      for (let a = 0; a < 3; a++) {
        sum[a] += samples[3 * i + a];
        for (let b = 0; b < 3; b++) product[3 * a + b] += samples[3 * i + a] * samples[3 * i + b];
      }
    }
    if (n < 8) break;
    const mean = [sum[0] / n, sum[1] / n, sum[2] / n];
    for (let a = 0; a < 3; a++)
      for (let b = 0; b < 3; b++)
        covariance[3 * a + b] = product[3 * a + b] / n - mean[a] * mean[b] + (a === b ? floor[a] ** 2 : 0);
    colour = { mean, white: whitening(covariance) };
  }
  return colour;
}

function floorCovariance(floor: SpreadFloor): Float64Array {
  const covariance = new Float64Array(9);
  for (let c = 0; c < 3; c++) covariance[4 * c] = floor[c] ** 2;
  return covariance;
}

/**
 * How much patches of bare table top differ over about four reduced pixels in any direction, as a whitening of tone (in
 * which photon noise is nearly even).
 */
function patchWhitening(reduced: ReducedPhoto, tone: Float32Array, places: readonly number[]): readonly number[] {
  const { widthPx, heightPx } = reduced;
  const differences: number[][] = [];
  for (let k = 0; k < places.length; k++) {
    const angle = k * 2.399963; // golden angle: all directions alike
    const x = places[k] % widthPx;
    const y = Math.floor(places[k] / widthPx);
    const d = [0, 0, 0];
    let inside = true;
    for (const reach of [1, 2, 3]) {
      const dx = Math.round(reach * Math.cos(angle));
      const dy = Math.round(reach * Math.sin(angle));
      if (x - 3 < 0 || y - 3 < 0 || x + 3 >= widthPx || y + 3 >= heightPx) {
        inside = false;
        break;
      }
      const to = 3 * ((y + dy) * widthPx + x + dx);
      const from = 3 * ((y - dy) * widthPx + x - dx);
      for (let c = 0; c < 3; c++) d[c] += (tone[to + c] - tone[from + c]) / 3;
    }
    if (inside) differences.push(d);
  }
  differences.sort((a, b) => Math.hypot(...a) - Math.hypot(...b));
  const kept = differences.slice(0, Math.ceil(differences.length * 0.9));
  const covariance = new Float64Array(9);
  for (const d of kept)
    for (let a = 0; a < 3; a++) for (let b = 0; b < 3; b++) covariance[3 * a + b] += (d[a] * d[b]) / kept.length;
  for (let a = 0; a < 3; a++) covariance[4 * a] += toneFloor ** 2;
  return whitening(covariance);
}

/** Memory for a model of a picture, to be used again when the look is learned once more. */
export interface FinishRoom {
  readonly likeness: Float32Array;
  readonly contrast: Float32Array;
}

export function finishRoom({ widthPx, heightPx }: ReducedPhoto): FinishRoom {
  const pixels = widthPx * heightPx;
  return { likeness: sharedFloats(pixels), contrast: sharedFloats(3 * pixels) };
}

/** Keeps the memory of a model that nobody asks any more. */
export function giveBackRoom({ likeness, contrast }: FinishRoom): void {
  giveBack(likeness);
  giveBack(contrast);
}

/**
 * Learns the table top's look.
 * @param room becomes the model's: an earlier one that was made in it is lost
 * @param places indices of reduced pixels (y·width + x) most of which show bare table top
 * @param floor how much other a pixel may look at least and still be table top
 */
export function learnFinish(
  reduced: ReducedPhoto,
  room: FinishRoom,
  places: readonly number[],
  floor: SpreadFloor,
): FinishModel {
  const { likeness, contrast } = room;
  const { widthPx, heightPx, scale, look } = reduced;
  const samples = new Float64Array(3 * places.length);
  for (let i = 0; i < places.length; i++) for (let c = 0; c < 3; c++) samples[3 * i + c] = look[3 * places[i] + c];
  const colour = dominantColour(samples, places.length, floor);
  const bare = places.filter((_, i) => square(colour, samples, 3 * i) < 9);
  const field = growField(look, widthPx, heightPx, bare, floor);
  const spread = whitening(field.covariance);
  const expected = new Float64Array(3);
  for (let y = 0, i = 0; y < heightPx; y++) {
    const rowLook = expectedInRow(field, y);
    for (let x = 0; x < widthPx; x++, i++) {
      lookInRow(rowLook, x, expected);
      likeness[i] = likenessTo(spread, expected, look[3 * i], look[3 * i + 1], look[3 * i + 2]);
    }
  }
  const w = patchWhitening(reduced, reduced.tone, bare.length > 30 ? bare : places);
  for (let i = 0; i < contrast.length; i += 3) {
    const r = reduced.tone[i];
    const g = reduced.tone[i + 1];
    const b = reduced.tone[i + 2];
    contrast[i] = w[0] * r;
    contrast[i + 1] = w[1] * r + w[2] * g;
    contrast[i + 2] = w[3] * r + w[4] * g + w[5] * b;
  }
  const colours = { scale, field, spread, whitening: w };
  return { ...colours, ...lookOfFinish(colours), likeness, contrast };
}
