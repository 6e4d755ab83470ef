import { choleskyInPlace, choleskySolve } from '../../linalg/cholesky.js';
import { type EdgeProfile, profileStepPx, valuesAStep } from './edge-profile.js';

/** A blurred step fitted to the three channels of a profile. */
export interface StepFit {
  /** Where the step is, pixels along the normal. */
  readonly atPx: number;
  /** Standard uncertainty of atPx from the residuals. */
  readonly sigmaPx: number;
  /** Height of the step over the root mean square residual, all channels together. */
  readonly clearness: number;
  /** Sum of the logarithms of the channels' residual variances: smaller is the better model. */
  readonly misfit: number;
}

export interface StepModel {
  /** Standard deviations of the Gaussian blur of brightness and of colour, pixels. */
  readonly blurPx: number;
  readonly colourBlurPx: number;
  /** How far to both sides of the step values are used, pixels. */
  readonly windowPx: number;
  /** A second step this far beyond the first; null for none. */
  readonly secondPx: number | null;
}

/** Area of the standard normal distribution below x (Abramowitz and Stegun 26.2.17, error below 7.5e-8). */
export function normalBelow(x: number): number {
  const a = Math.abs(x);
  const t = 1 / (1 + 0.2316419 * a);
  const tail =
    0.3989422804014327 *
    Math.exp((-a * a) / 2) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return x >= 0 ? 1 - tail : tail;
}

const root2Pi = Math.sqrt(2 * Math.PI);

interface Pull {
  pull: number;
  stiffness: number;
  clear: number;
  misfit: number;
}

/** The steps of a profile that a fit uses. */
interface Span {
  readonly low: number;
  readonly high: number;
}

function spanAround(profile: EdgeProfile, centrePx: number, model: StepModel): Span | null {
  const { reachPx, count } = profile;
  const low = Math.max(0, Math.ceil((centrePx - model.windowPx + reachPx) / profileStepPx));
  const end = centrePx + model.windowPx + (model.secondPx ?? 0);
  const high = Math.min(count - 1, Math.floor((end + reachPx) / profileStepPx));
  return high - low + 1 < 9 ? null : { low, high };
}

/** Variance of a value that coding to whole codes leaves in a mean over 10 pixels; residuals are never trusted below it. */
const codeVariance = 4e-7;

/**
 * What some channels of the same blur say about the place of the step. The plateaus of each channel are linear and are
 * eliminated (variable projection, Golub and Pereyra 1973, SIAM J. Numer. Anal. 10:413); channels are weighted by their
 * own residuals. Basis: the plateau inside, the step, and the second step if there is one, which moves with the first.
 */
function addPull(
  profile: EdgeProfile,
  channels: readonly number[],
  span: Span,
  at: number,
  blurPx: number,
  secondPx: number | null,
  sum: Pull,
): boolean {
  const n = span.high - span.low + 1;
  const m = secondPx === null ? 2 : 3;
  const basis = Array.from({ length: m }, () => new Float64Array(n));
  const bells = Array.from({ length: m }, () => new Float64Array(n));
  for (let i = 0; i < n; i++) {
    const t = (span.low + i) * profileStepPx - profile.reachPx - at;
    basis[0][i] = 1;
    for (let k = 1; k < m; k++) {
      const u = (t - (k === 1 ? 0 : (secondPx as number))) / blurPx;
      basis[k][i] = normalBelow(u);
      bells[k][i] = Math.exp((-u * u) / 2) / root2Pi / blurPx;
    }
  }
  const factor = new Float64Array(m * m);
  for (let a = 0; a < m; a++)
    for (let b = 0; b <= a; b++) {
      factor[a * m + b] = dot(basis[a], basis[b]);
      if (a === b) factor[a * m + a] += 1e-9;
    }
  if (!choleskyInPlace(factor, m)) return false;
  const withoutBasis = (v: Float64Array): Float64Array => {
    const height = choleskySolve(
      factor,
      m,
      Float64Array.from(basis, (b) => dot(b, v)),
    );
    for (let k = 0; k < m; k++) for (let i = 0; i < n; i++) v[i] -= height[k] * basis[k][i];
    return height;
  };
  const rest = bells.map((b) => {
    const copy = Float64Array.from(b);
    withoutBasis(copy);
    return copy;
  });
  const slope = new Float64Array(n);
  for (const channel of channels) {
    const r = new Float64Array(n);
    for (let i = 0; i < n; i++) r[i] = profile.values[valuesAStep * (span.low + i) + channel];
    const height = withoutBasis(r);
    for (let i = 0; i < n; i++) {
      slope[i] = 0;
      for (let k = 1; k < m; k++) slope[i] -= height[k] * rest[k][i];
    }
    const variance = dot(r, r) / (n - m - 1) + codeVariance;
    sum.pull += dot(slope, r) / variance;
    sum.stiffness += dot(slope, slope) / variance;
    sum.clear += (height[1] * height[1]) / variance;
    sum.misfit += Math.log(variance);
  }
  return true;
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}

const brightness = [0] as const;
const colour = [2, 3] as const;

/**
 * How far the middle of a step in coded colour may lie from the true edge, pixels: colour is subsampled and coded after
 * the tone curve, which no linear light undoes (measured: 0.1 to 0.3 px).
 */
const colourBiasPx = 0.5;

/** Finds the step nearest to startPx by Gauss–Newton; null when it runs away by more than the window. */
export function fitStep(profile: EdgeProfile, startPx: number, model: StepModel): StepFit | null {
  const rough = settle(profile, startPx, startPx, model);
  return rough && settle(profile, rough.atPx, startPx, model);
}

/** Gauss–Newton with the values used held fixed around a centre. */
function settle(profile: EdgeProfile, centrePx: number, startPx: number, model: StepModel): StepFit | null {
  const span = spanAround(profile, centrePx, model);
  if (!span) return null;
  let at = centrePx;
  let lastMove = Number.POSITIVE_INFINITY;
  let damping = 1;
  for (let round = 0; round < 20; round++) {
    const light: Pull = { pull: 0, stiffness: 0, clear: 0, misfit: 0 };
    const hue: Pull = { pull: 0, stiffness: 0, clear: 0, misfit: 0 };
    if (!addPull(profile, brightness, span, at, model.blurPx, model.secondPx, light)) return null;
    if (!addPull(profile, colour, span, at, model.colourBlurPx, model.secondPx, hue)) return null;
    const trust = 1 / (1 + hue.stiffness * colourBiasPx * colourBiasPx);
    const stiffness = light.stiffness + trust * hue.stiffness;
    if (!(stiffness > 0)) return null;
    const move = (light.pull + trust * hue.pull) / stiffness;
    if (move * lastMove < 0 && Math.abs(move) > 0.5 * Math.abs(lastMove)) damping *= 0.6;
    lastMove = move;
    at += Math.max(-0.6, Math.min(0.6, damping * move));
    if (Math.abs(at - startPx) > model.windowPx) return null;
    if (Math.abs(move) < 3e-3)
      return {
        atPx: at,
        sigmaPx: 1 / Math.sqrt(stiffness),
        clearness: Math.sqrt(light.clear + hue.clear),
        misfit: light.misfit + hue.misfit,
      };
  }
  return null;
}

/**
 * The blur of brightness and of colour: what fits most profiles best.
 * @param at where the step of each profile is
 */
export function blurOf(
  profiles: readonly EdgeProfile[],
  at: readonly number[],
  model: StepModel,
): { blurPx: number; colourBlurPx: number } {
  const best = (channels: readonly number[], from: number, to: number): number => {
    let most = Number.NEGATIVE_INFINITY;
    let blur = from;
    for (let b = from; b < to; b *= 1.12) {
      const clear = profiles.map((p, i) => {
        const sum: Pull = { pull: 0, stiffness: 0, clear: 0, misfit: 0 };
        const span = spanAround(p, at[i], model);
        return span && addPull(p, channels, span, at[i], b, model.secondPx, sum) ? -sum.misfit : -99;
      });
      clear.sort((x, y) => x - y);
      const middle = clear[clear.length >> 1];
      if (middle > most) {
        most = middle;
        blur = b;
      }
    }
    return blur;
  };
  return { blurPx: best(brightness, 0.35, 2.6), colourBlurPx: best(colour, 0.5, 3.2) };
}
