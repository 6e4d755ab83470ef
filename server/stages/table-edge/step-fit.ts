import { choleskyInPlace, choleskyInverse, choleskySolve } from '../../linalg/cholesky.js';

/** A step between two plateaus, blurred by a Gaussian, fitted to a profile. */
export interface StepFit {
  /** Where the step is, pixels along the normal. */
  readonly atPx: number;
  readonly blurPx: number;
  readonly inside: number;
  readonly outside: number;
  /** Standard uncertainty of atPx from the residuals. */
  readonly sigmaPx: number;
  /** Root mean square residual over the height of the step. */
  readonly roughness: number;
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

/**
 * Gauss–Newton on inside + (outside − inside)·Φ((t − at)/blur).
 * @param values one channel at positions firstPx + k·stepPx
 * @param startPx first guess of the step's place
 * @param windowPx how far to both sides of the step values are used
 * @param blurPx the blur if it is known; null to fit it
 */
export function fitStep(
  values: Float64Array,
  firstPx: number,
  stepPx: number,
  startPx: number,
  windowPx: number,
  blurPx: number | null,
): StepFit | null {
  const n = blurPx === null ? 4 : 3;
  let at = startPx;
  let blur = blurPx ?? 1;
  let inside = 0;
  let outside = 0;
  const matrix = new Float64Array(n * n);
  const gradient = new Float64Array(n);
  let square = 0;
  let used = 0;
  for (let round = 0; round < 12; round++) {
    const low = Math.max(0, Math.ceil((at - windowPx - firstPx) / stepPx));
    const high = Math.min(values.length - 1, Math.floor((at + windowPx - firstPx) / stepPx));
    if (high - low < 8) return null;
    if (round === 0) {
      inside = values[low];
      outside = values[high];
    }
    matrix.fill(0);
    gradient.fill(0);
    square = 0;
    used = high - low + 1;
    const d = new Float64Array(n);
    for (let k = low; k <= high; k++) {
      const u = (firstPx + k * stepPx - at) / blur;
      const below = normalBelow(u);
      const bell = Math.exp((-u * u) / 2) / root2Pi;
      const residual = values[k] - inside - (outside - inside) * below;
      square += residual * residual;
      d[0] = 1 - below;
      d[1] = below;
      d[2] = (-(outside - inside) * bell) / blur;
      if (n === 4) d[3] = (-(outside - inside) * bell * u) / blur;
      for (let a = 0; a < n; a++) {
        gradient[a] += d[a] * residual;
        for (let b = 0; b <= a; b++) matrix[a * n + b] += d[a] * d[b];
      }
    }
    // A little damping on the place and the blur keeps the first steps sane.
    const factor = Float64Array.from(matrix);
    for (let a = 0; a < n; a++) factor[a * n + a] *= 1 + 1e-4;
    for (let a = 0; a < n; a++) factor[a * n + a] += 1e-12;
    if (!choleskyInPlace(factor, n)) return null;
    const step = choleskySolve(factor, n, gradient);
    inside += step[0];
    outside += step[1];
    const move = Math.max(-1, Math.min(1, step[2]));
    at += move;
    if (n === 4) blur = Math.max(0.35, Math.min(4, blur + Math.max(-0.4, Math.min(0.4, step[3]))));
    if (Math.abs(at - startPx) > windowPx) return null;
    if (Math.abs(move) < 1e-4 && round > 2) break;
  }
  const factor = Float64Array.from(matrix);
  for (let a = 0; a < n; a++) factor[a * n + a] += 1e-12;
  if (!choleskyInPlace(factor, n)) return null;
  const covariance = choleskyInverse(factor, n);
  const variance = square / Math.max(1, used - n);
  const height = Math.abs(outside - inside);
  return {
    atPx: at,
    blurPx: blur,
    inside,
    outside,
    sigmaPx: Math.sqrt(variance * covariance[2 * n + 2]),
    roughness: Math.sqrt(variance) / Math.max(height, 1e-9),
  };
}
