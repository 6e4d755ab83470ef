import { normalCdf, normalDensity } from '../../images/normal-curve.js';
import { choleskyInPlace } from '../../linalg/cholesky.js';
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
  /** Height of the second step over that of the first, each all channels together; 0 where no second is fitted. */
  readonly secondRatio: number;
}

export interface StepModel {
  /** Standard deviations of the Gaussian blur of brightness and of colour, pixels. */
  readonly blurPx: number;
  readonly colourBlurPx: number;
  /** How far to both sides of the step values are used, pixels. */
  readonly windowPx: number;
  /** A second step this far beyond the first (negative: before it); null for none. */
  readonly secondPx: number | null;
  /**
   * The light that the stretch between the second step and the first takes from the finish, as a share of it: then the
   * second step is as high as that, instead of as high as fits best. For a second step before the first.
   */
  readonly takenShare?: number;
}

interface Pull {
  pull: number;
  stiffness: number;
  clear: number;
  secondClear: number;
  misfit: number;
}

const noPull = (): Pull => ({ pull: 0, stiffness: 0, clear: 0, secondClear: 0, misfit: 0 });

/** The steps of a profile that a fit uses. */
interface Span {
  readonly low: number;
  readonly high: number;
}

function spanAround(profile: EdgeProfile, centrePx: number, model: StepModel): Span | null {
  const { reachPx, count } = profile;
  const start = centrePx - model.windowPx + Math.min(0, model.secondPx ?? 0);
  const low = Math.max(0, Math.ceil((start + reachPx) / profileStepPx));
  const end = centrePx + model.windowPx + Math.max(0, model.secondPx ?? 0);
  const high = Math.min(count - 1, Math.floor((end + reachPx) / profileStepPx));
  return high - low + 1 < 9 ? null : { low, high };
}

/** Variance of a value that coding to whole codes leaves in a mean over 10 pixels; residuals are never trusted below it. */
const codeVariance = 4e-7;
const mostSteps = 96;

/** Working memory of a fit, to be used again for the next: basis functions with their derivatives, and a residual. */
export class Workspace {
  readonly basis = [new Float64Array(mostSteps), new Float64Array(mostSteps), new Float64Array(mostSteps)];
  readonly bells = [new Float64Array(mostSteps), new Float64Array(mostSteps), new Float64Array(mostSteps)];
  readonly rest = new Float64Array(mostSteps);
  readonly slope = new Float64Array(mostSteps);
  readonly factor = new Float64Array(9);
  readonly height = new Float64Array(3);
}

/** Fills v with what is left of it after a least-squares fit of the basis; the fit's heights stay in `height`. */
function withoutBasis(w: Workspace, m: number, n: number, v: Float64Array): void {
  const { basis, factor, height } = w;
  for (let k = 0; k < m; k++) height[k] = dot(basis[k], v, n);
  solveInPlace(factor, m, height);
  for (let k = 0; k < m; k++) {
    const h = height[k];
    const b = basis[k];
    for (let i = 0; i < n; i++) v[i] -= h * b[i];
  }
}

/** Solves L Lᵀ x = b in place, as choleskySolve does, without a new vector. */
function solveInPlace(factor: Float64Array, m: number, x: Float64Array): void {
  for (let i = 0; i < m; i++) {
    for (let k = 0; k < i; k++) x[i] -= factor[i * m + k] * x[k];
    x[i] /= factor[i * m + i];
  }
  for (let i = m - 1; i >= 0; i--) {
    for (let k = i + 1; k < m; k++) x[i] -= factor[k * m + i] * x[k];
    x[i] /= factor[i * m + i];
  }
}

/**
 * What some channels of the same blur say about the place of the step. The plateaus of each channel are linear and are
 * eliminated (variable projection, Golub and Pereyra 1973, SIAM J. Numer. Anal. 10:413); channels are weighted by their
 * own residuals. Basis: the plateau inside, the step, and the second step if there is one, which moves with the first.
 */
function addPull(
  w: Workspace,
  profile: EdgeProfile,
  { channels, tone }: Channels,
  span: Span,
  at: number,
  blurPx: number,
  { secondPx, takenShare }: StepModel,
  sum: Pull,
): boolean {
  const n = Math.min(mostSteps, span.high - span.low + 1);
  const steps = secondPx === null ? 2 : 3;
  // What is taken is a part of the plateau inside.
  const taken = takenShare === undefined ? null : 1 - (1 - takenShare) ** tone;
  const m = taken === null ? steps : 2;
  const { basis, bells, rest, slope, factor, height } = w;
  basis[0].fill(1, 0, n);
  for (let k = 1; k < steps; k++) {
    const middle = k === 1 ? at : at + (secondPx as number);
    fillStep((span.low * profileStepPx - profile.reachPx - middle) / blurPx, 1 / blurPx, n, basis[k], bells[k]);
  }
  if (taken !== null)
    for (let i = 0; i < n; i++) {
      basis[0][i] -= taken * basis[2][i] + (1 - taken) * basis[1][i];
      bells[2][i] = taken * bells[2][i] + (1 - taken) * bells[1][i];
    }
  for (let a = 0; a < m; a++)
    for (let b = 0; b <= a; b++) factor[a * m + b] = dot(basis[a], basis[b], n) + (a === b ? 1e-9 : 0);
  if (!choleskyInPlace(factor, m)) return false;
  for (let k = 1; k < steps; k++) withoutBasis(w, m, n, bells[k]);
  for (const channel of channels) {
    for (let i = 0; i < n; i++) rest[i] = profile.values[valuesAStep * (span.low + i) + channel];
    withoutBasis(w, m, n, rest);
    for (let i = 0; i < n; i++) {
      slope[i] = -height[1] * bells[1][i];
      if (m === 3) slope[i] -= height[2] * bells[2][i];
      else if (taken !== null) slope[i] += height[0] * bells[2][i];
    }
    const variance = dot(rest, rest, n) / (n - m - 1) + codeVariance;
    sum.pull += dot(slope, rest, n) / variance;
    sum.stiffness += dot(slope, slope, n) / variance;
    const rise = taken === null ? height[1] : height[1] - height[0];
    sum.clear += (rise * rise) / variance;
    if (m === 3) sum.secondClear += (height[2] * height[2]) / variance;
    sum.misfit += Math.log(variance);
  }
  return true;
}

/** A blurred step and how fast it rises, at n places of a profile from `first` blurs beyond the step on. */
function fillStep(first: number, perPx: number, n: number, step: Float64Array, bell: Float64Array): void {
  const du = profileStepPx * perPx;
  for (let i = 0; i < n; i++) {
    const u = first + i * du;
    step[i] = normalCdf(u);
    bell[i] = normalDensity(u) * perPx;
  }
}

function dot(a: Float64Array, b: Float64Array, n: number): number {
  let sum = 0;
  for (let i = 0; i < n; i++) sum += a[i] * b[i];
  return sum;
}

interface Channels {
  readonly channels: readonly number[];
  /** Power of the light that they show. */
  readonly tone: number;
}

const brightness: Channels = { channels: [0], tone: 1 };
/** As coded: about the 1/2.2th power of the light (IEC 61966-2-1). */
const colour: Channels = { channels: [2, 3], tone: 1 / 2.2 };

/**
 * How far the middle of a step in coded colour may lie from the true edge, pixels: colour is subsampled and coded after
 * the tone curve, which no linear light undoes (measured: 0.1 to 0.3 px).
 */
const colourBiasPx = 0.5;

/** Finds the step nearest to startPx by Gauss–Newton; null when it runs away by more than the window. */
export function fitStep(w: Workspace, profile: EdgeProfile, startPx: number, model: StepModel): StepFit | null {
  const rough = settle(w, profile, startPx, startPx, model);
  if (!rough || Math.abs(rough.atPx - startPx) < profileStepPx / 2) return rough;
  return settle(w, profile, rough.atPx, startPx, model);
}

/** Gauss–Newton with the values used held fixed around a centre. */
function settle(
  w: Workspace,
  profile: EdgeProfile,
  centrePx: number,
  startPx: number,
  model: StepModel,
): StepFit | null {
  const span = spanAround(profile, centrePx, model);
  if (!span) return null;
  let at = centrePx;
  let lastMove = Number.POSITIVE_INFINITY;
  let damping = 1;
  for (let round = 0; round < 20; round++) {
    const light = noPull();
    const hue = noPull();
    if (!addPull(w, profile, brightness, span, at, model.blurPx, model, light)) return null;
    if (!addPull(w, profile, colour, span, at, model.colourBlurPx, model, hue)) return null;
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
        secondRatio: Math.sqrt((light.secondClear + hue.secondClear) / (light.clear + hue.clear + 1e-12)),
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
  const w = new Workspace();
  const best = (channels: Channels, from: number, to: number): number => {
    let most = Number.NEGATIVE_INFINITY;
    let blur = from;
    for (let b = from; b < to; b *= 1.12) {
      const clear = profiles.map((p, i) => {
        const sum = noPull();
        const span = spanAround(p, at[i], model);
        return span && addPull(w, p, channels, span, at[i], b, model, sum) ? -sum.misfit : -99;
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
