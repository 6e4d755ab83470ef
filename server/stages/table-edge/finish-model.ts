import { choleskyInPlace, choleskySolve } from '../../linalg/cholesky.js';
import type { ReducedPhoto } from './reduced-photo.js';

/**
 * What the table top looks like in one photo: its colour, and how much two neighbouring patches of it differ.
 * Both are learned from places that must be table top, so no finish is known beforehand.
 */
export interface FinishModel {
  /** Photo pixels to a reduced pixel. */
  readonly scale: number;
  /** 0…1 for each reduced pixel: does it look like the table top? Row by row. */
  readonly likeness: Float32Array;
  /**
   * The reduced photo in units in which two neighbouring patches of bare table top differ by about 1 in each of the
   * three channels, uncorrelated; interleaved, row by row.
   */
  readonly contrast: Float32Array;
  /** Likeness of one colour (tone: the coded value over 255) at a place of the reduced photo. */
  readonly likenessOf: (r: number, g: number, b: number, qx: number, qy: number) => number;
  /** Lower triangle (row by row) that turns tone into the units of `contrast`. */
  readonly whitening: readonly number[];
}

/** Added to tone before the logarithm, so that black noise does not count. */
const darkFloor = 0.08;
/** Light across a table differs by more than at the sampled places (log units of tone), colour by little. */
const spreadFloor = [0.14, 0.03, 0.03] as const;
/** Smallest difference of tone that counts: about 1.5 codes. */
const toneFloor = 0.006;

function features(tone: ArrayLike<number>, at: number, out: Float64Array, to: number): void {
  const r = Math.log(tone[at] + darkFloor);
  const g = Math.log(tone[at + 1] + darkFloor);
  const b = Math.log(tone[at + 2] + darkFloor);
  out[to] = (r + g + b) / 3;
  out[to + 1] = r - g;
  out[to + 2] = b - g;
}

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
      density += Math.exp(-(dl * dl + da * da + db * db) / 2);
    }
    if (density > best) {
      best = density;
      at = i;
    }
  }
  return [samples[3 * at], samples[3 * at + 1], samples[3 * at + 2]];
}

/** Light falls off smoothly: mean log tone, red–green and blue–green as quadratic fields over the photo. */
interface Colour {
  /** Six coefficients for each of the three features. */
  readonly field: readonly (readonly number[])[];
  readonly white: readonly number[];
}

const terms = 6;

function fieldTerms(u: number, v: number, out: Float64Array): void {
  out[0] = 1;
  out[1] = u;
  out[2] = v;
  out[3] = u * u;
  out[4] = u * v;
  out[5] = v * v;
}

/** Squared distance of features from the field in units of their spread; `t` holds the field's terms at the place. */
function square(colour: Colour, f: Float64Array, at: number, t: Float64Array): number {
  const d = [0, 0, 0];
  for (let c = 0; c < 3; c++) {
    const k = colour.field[c];
    d[c] = f[at + c] - (k[0] + k[1] * t[1] + k[2] * t[2] + k[3] * t[3] + k[4] * t[4] + k[5] * t[5]);
  }
  const w = colour.white;
  const p = w[0] * d[0];
  const q = w[1] * d[0] + w[2] * d[1];
  const r = w[3] * d[0] + w[4] * d[1] + w[5] * d[2];
  return p * p + q * q + r * r;
}

/** How strongly the field is held to a constant: in shares of the samples, for slopes and for curvatures. */
const fieldStiffness = [0, 0.01, 0.01, 0.03, 0.03, 0.03] as const;

/** Field and spread of the densest cluster: a Gaussian trimmed at three sigma, repeated. */
function dominantColour(samples: Float64Array, places: Float64Array, count: number): Colour {
  const floor = new Float64Array(9);
  for (let c = 0; c < 3; c++) floor[4 * c] = spreadFloor[c] ** 2;
  let colour: Colour = {
    field: densest(samples, count).map((mean) => [mean, 0, 0, 0, 0, 0]),
    white: whitening(floor),
  };
  const t = new Float64Array(terms);
  for (let round = 0; round < 6; round++) {
    const normal = new Float64Array(terms * terms);
    const right = [0, 1, 2].map(() => new Float64Array(terms));
    const members: number[] = [];
    for (let i = 0; i < count; i++) {
      fieldTerms(places[2 * i], places[2 * i + 1], t);
      if (square(colour, samples, 3 * i, t) > 9) continue;
      members.push(i);
      for (let a = 0; a < terms; a++) {
        for (let b = 0; b <= a; b++) normal[a * terms + b] += t[a] * t[b];
        for (let c = 0; c < 3; c++) right[c][a] += t[a] * samples[3 * i + c];
      }
    }
    if (members.length < 12) break;
    for (let a = 0; a < terms; a++) normal[a * terms + a] += fieldStiffness[a] * members.length + 1e-9;
    if (!choleskyInPlace(normal, terms)) break;
    const field = right.map((r) => Array.from(choleskySolve(normal, terms, r)));
    const covariance = Float64Array.from(floor);
    const centred: Colour = { field, white: [1, 0, 1, 0, 0, 1] };
    for (const i of members) {
      fieldTerms(places[2 * i], places[2 * i + 1], t);
      const d = [0, 1, 2].map((c) => samples[3 * i + c] - field[c].reduce((sum, k, j) => sum + k * t[j], 0));
      for (let a = 0; a < 3; a++) for (let b = 0; b < 3; b++) covariance[3 * a + b] += (d[a] * d[b]) / members.length;
    }
    colour = { ...centred, white: whitening(covariance) };
  }
  return colour;
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

/**
 * Learns the table top's look.
 * @param places indices of reduced pixels (y·width + x) most of which show bare table top
 */
export function learnFinish(reduced: ReducedPhoto, places: readonly number[]): FinishModel {
  const { widthPx, heightPx } = reduced;
  const pixels = widthPx * heightPx;
  const tone = Float32Array.from(reduced.tone);
  const unit = 2 / Math.max(widthPx, heightPx);
  const samples = new Float64Array(3 * places.length);
  const at = new Float64Array(2 * places.length);
  for (let i = 0; i < places.length; i++) {
    features(tone, 3 * places[i], samples, 3 * i);
    at[2 * i] = ((places[i] % widthPx) - widthPx / 2) * unit;
    at[2 * i + 1] = (Math.floor(places[i] / widthPx) - heightPx / 2) * unit;
  }
  const colour = dominantColour(samples, at, places.length);
  const terms6 = new Float64Array(terms);
  const bare = places.filter((_, i) => {
    fieldTerms(at[2 * i], at[2 * i + 1], terms6);
    return square(colour, samples, 3 * i, terms6) < 9;
  });
  const w = patchWhitening(reduced, tone, bare.length > 30 ? bare : places);
  const likeness = new Float32Array(pixels);
  const f = new Float64Array(3);
  for (let i = 0; i < pixels; i++) {
    features(tone, 3 * i, f, 0);
    fieldTerms(((i % widthPx) - widthPx / 2) * unit, (Math.floor(i / widthPx) - heightPx / 2) * unit, terms6);
    const m = square(colour, f, 0, terms6) / 9;
    likeness[i] = 1 / (1 + m * m);
    const r = tone[3 * i];
    const g = tone[3 * i + 1];
    const b = tone[3 * i + 2];
    tone[3 * i] = w[0] * r;
    tone[3 * i + 1] = w[1] * r + w[2] * g;
    tone[3 * i + 2] = w[3] * r + w[4] * g + w[5] * b;
  }
  const one = new Float64Array(3);
  const likenessOf = (r: number, g: number, b: number, qx: number, qy: number): number => {
    features([r, g, b], 0, one, 0);
    fieldTerms((qx - widthPx / 2) * unit, (qy - heightPx / 2) * unit, terms6);
    const m = square(colour, one, 0, terms6) / 9;
    return 1 / (1 + m * m);
  };
  return { scale: reduced.scale, likeness, contrast: tone, likenessOf, whitening: w };
}
