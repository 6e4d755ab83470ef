import { normalCdf, normalDensity } from '../../images/normal-curve.js';
import { choleskyInPlace, choleskyInverse } from '../../linalg/cholesky.js';
import { type EdgePatch, MOST_PATCH_PIXELS, type PredictedEdge } from './edge-patch.js';
import type { ModuleEdge } from './module-edges.js';
import type { EdgeFit } from './rough-edge.js';

export interface EdgeFitSettings {
  readonly blurPx: number;
  /** Fit the blur too. */
  readonly freeBlur: boolean;
  /** How far bright areas reach into dark ones, px, for the neighbouring edges. */
  readonly spreadPx: number;
}

const MOST_ROUNDS = 8;
/** Below this share of full light noise falls no further: the sensor's own floor (common practice, no source). */
const DARKEST_LIGHT = 0.02;
/** Slope of the sRGB curve in linear light goes with light to this power (IEC 61966-2-1: exponent 2.4). */
const SLOPE_POWER = 1.4 / 2.4;

/** Weight of a pixel of so much light, at steps; a power for each pixel would take half of the time. */
const weightSteps = 512;
const MOST_LIGHT = 2;
const weightOfLight = Float64Array.from(
  { length: MOST_LIGHT * weightSteps + 1 },
  (_, i) => 1 / Math.max(DARKEST_LIGHT, i / weightSteps) ** (2 * SLOPE_POWER),
);

function weightOf(light: number): number {
  return weightOfLight[Math.round(weightSteps * Math.max(0, Math.min(MOST_LIGHT, light)))];
}

/**
 * Those weights let the dark foot of an edge outweigh the rest, and where the blur is not as supposed (a hand that moved: no
 * Gaussian, and not as wide in every direction) the foot is not where it should be: a blur taken a seventh too narrow moves an
 * edge by a quarter pixel. Where the misfit is so much more than noise all pixels count alike, and it hardly moves.
 */
const MOST_SHAPE_MISFIT = 3;
const FLAT_WEIGHT = 5;
/** Places across an edge that are compared, and how many to a standard deviation of the blur. */
const PLACES = 16;
const PLACES_A_BLUR = 2;

/** Unknowns of one edge, in the order of the normal equations. */
interface EdgeState {
  offset: number;
  black: number;
  contrast: number;
  blur: number;
}

/**
 * Fits the pixels near an edge with the tag's own pattern, blurred by a Gaussian, in linear light: offset along the
 * normal, black, white and if wished the blur (Gauss–Newton). Weights are those of noise that is even in the coded
 * picture.
 * @returns null when the pixels show no such edge
 */
export function fitEdge(
  patch: EdgePatch,
  edge: ModuleEdge,
  predicted: PredictedEdge,
  settings: EdgeFitSettings,
): EdgeFit | null {
  const n = settings.freeBlur ? 4 : 3;
  if (patch.count < 4 * n) return null;
  layOutPattern(patch, edge, predicted, settings);
  const state: EdgeState = { offset: 0, black: 0, contrast: 0, blur: settings.blurPx };
  startLevels(patch, state);
  let settled = settle(patch, state, n, 0);
  if (settled && shapeMisfit(patch, state) > MOST_SHAPE_MISFIT) settled = settle(patch, state, n, FLAT_WEIGHT);
  if (!settled) return null;
  const { variance, scatter } = settled;
  if (!(state.contrast > 0) || Math.abs(state.offset) > predicted.widthPx) return null;
  return {
    offsetPx: state.offset,
    sigmaPx: Math.sqrt(variance),
    blurPx: state.blur,
    contrast: state.contrast,
    scatter: Math.sqrt(scatter) / state.contrast,
    clippedShare: patch.clippedShare,
  };
}

/**
 * Gauss–Newton from a state on, which it changes.
 * @param flat added to the weight of every pixel's variance, in units of that of full light
 * @returns variance of the offset, and of a pixel of full light; null when the pixels tell too little
 */
function settle(
  patch: EdgePatch,
  state: EdgeState,
  n: number,
  flat: number,
): { readonly variance: number; readonly scatter: number } | null {
  let variance = 0;
  let scatter = 0;
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const normal = normalEquations(patch, state, n, flat);
    const factor = normal.matrix;
    if (!choleskyInPlace(factor, n)) return null;
    const inverse = choleskyInverse(factor, n);
    const move = Array.from({ length: n }, (_, i) =>
      normal.gradient.reduce((sum, g, k) => sum + inverse[i * n + k] * g, 0),
    );
    scatter = normal.squares / (patch.count - n);
    variance = inverse[0] * scatter;
    const shorten = Math.min(1, state.blur / Math.abs(move[0]));
    state.offset += move[0] * shorten;
    state.black += move[1] * shorten;
    state.contrast += move[2] * shorten;
    if (n === 4) state.blur = Math.min(2 * state.blur, Math.max(state.blur / 2, 0.25, state.blur + move[3] * shorten));
    if (Math.abs(move[0]) < 1e-3 * state.blur) break;
  }
  return { variance, scatter };
}

/**
 * How much more the residuals differ from place to place across the edge than noise does: the variance of their means over
 * that within (the analysis of variance, R. A. Fisher, Statistical Methods for Research Workers, 1925); about 1 for noise.
 */
function shapeMisfit(patch: EdgePatch, state: EdgeState): number {
  const sums = new Float64Array(PLACES);
  const counts = new Float64Array(PLACES);
  let squares = 0;
  for (let i = 0; i < patch.count; i++) {
    const light = state.black + state.contrast * whiteShare(patch, i, state);
    const residual = Math.sqrt(weightOf(light)) * (patch.light[i] - light);
    const from = (patch.s[i] - state.offset) / state.blur;
    const place = Math.max(0, Math.min(PLACES - 1, Math.floor(PLACES / 2 + from * PLACES_A_BLUR)));
    sums[place] += residual;
    counts[place]++;
    squares += residual * residual;
  }
  let between = 0;
  let used = 0;
  for (let k = 0; k < PLACES; k++) {
    if (counts[k] === 0) continue;
    between += sums[k] ** 2 / counts[k];
    used++;
  }
  return between / used / Math.max(1e-12, (squares - between) / Math.max(1, patch.count - used));
}

/** The pattern along the normal through each pixel: white at the start, then the steps at the three nearest lines. */
const lineStart = new Float64Array(MOST_PATCH_PIXELS);
const lineSteps = [0, 1, 2].map(() => new Float64Array(MOST_PATCH_PIXELS));
const linePlaces = new Float64Array(3);

function layOutPattern(patch: EdgePatch, edge: ModuleEdge, predicted: PredictedEdge, settings: EdgeFitSettings): void {
  const { acrossX, acrossY, alongX, alongY, widthPx } = predicted;
  const alongSpacing = Math.abs(acrossX * alongY - acrossY * alongX) / Math.hypot(acrossX, acrossY);
  const { around } = edge;
  for (let m = 0; m < 3; m++) {
    const step = around[3 * (m + 1) + 1] - around[3 * m + 1];
    // A bright area reaches too far: a step up comes early, a step down late; the edge's own shift is its offset.
    linePlaces[m] = (m - 1) * widthPx + (m === 1 ? 0 : -settings.spreadPx * (step + edge.darkSide));
  }
  for (let i = 0; i < patch.count; i++) {
    const before = normalCdf(((-0.5 - patch.t[i]) * alongSpacing) / settings.blurPx);
    const after = normalCdf(((patch.t[i] - 0.5) * alongSpacing) / settings.blurPx);
    const own = 1 - before - after;
    let last = 0;
    for (let j = 0; j < 4; j++) {
      const white = before * around[3 * j] + own * around[3 * j + 1] + after * around[3 * j + 2];
      if (j === 0) lineStart[i] = white;
      else lineSteps[j - 1][i] = white - last;
      last = white;
    }
  }
}

/** Share of white at pixel i, as seen through the blur. */
function whiteShare(patch: EdgePatch, i: number, state: EdgeState): number {
  let white = lineStart[i];
  for (let m = 0; m < 3; m++)
    white += lineSteps[m][i] * normalCdf((patch.s[i] - state.offset - linePlaces[m]) / state.blur);
  return white;
}

/** Black and white by plain least squares, the edge taken to lie where it was predicted. */
function startLevels(patch: EdgePatch, state: EdgeState): void {
  let [n, x, xx, y, xy] = [0, 0, 0, 0, 0];
  for (let i = 0; i < patch.count; i++) {
    const white = whiteShare(patch, i, state);
    n++;
    x += white;
    xx += white * white;
    y += patch.light[i];
    xy += white * patch.light[i];
  }
  state.contrast = (n * xy - x * y) / Math.max(1e-12, n * xx - x * x);
  state.black = (y - state.contrast * x) / n;
}

function normalEquations(patch: EdgePatch, state: EdgeState, n: number, flat: number) {
  const matrix = new Float64Array(n * n);
  const gradient = new Float64Array(n);
  const row = new Float64Array(4);
  let squares = 0;
  for (let i = 0; i < patch.count; i++) {
    let white = lineStart[i];
    let slope = 0;
    let widening = 0;
    for (let m = 0; m < 3; m++) {
      const z = (patch.s[i] - state.offset - linePlaces[m]) / state.blur;
      white += lineSteps[m][i] * normalCdf(z);
      const density = lineSteps[m][i] * normalDensity(z);
      slope -= density;
      widening -= density * z;
    }
    const light = state.black + state.contrast * white;
    const own = weightOf(light);
    const weight = own / (1 + flat * own);
    const residual = patch.light[i] - light;
    row[0] = (state.contrast * slope) / state.blur;
    row[1] = 1;
    row[2] = white;
    row[3] = (state.contrast * widening) / state.blur;
    squares += weight * residual * residual;
    for (let p = 0; p < n; p++) {
      gradient[p] += weight * row[p] * residual;
      for (let q = 0; q <= p; q++) matrix[p * n + q] += weight * row[p] * row[q];
    }
  }
  return { matrix, gradient, squares };
}
