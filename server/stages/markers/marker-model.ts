import { homographyFromQuad } from './tag-plane.js';

/** Where straight lines stay straight no more: one radial term about the photo's middle, shared by all its markers. */
export interface RadialLens {
  readonly centreX: number;
  readonly centreY: number;
  /** Focal length that makes radii dimensionless, px. */
  readonly focalPx: number;
}

/**
 * One marker's mapping from the tag to the photo: a homography, scaled to the marker's own size and place so that its
 * eight numbers are all about 1, followed by the lens: P = c + (p − c)(1 + k (ρ² − ρ₀²)), ρ = |p − c|/f, with ρ₀ that of the
 * frame's middle. Counted from there, the term bends the marker without shifting and scaling it by far more, which the
 * homography would have to undo at each step of a fit; the radial term of the photo is the same but for k ρ₀² of it.
 */
export interface MarkerFrame {
  readonly middleX: number;
  readonly middleY: number;
  readonly scalePx: number;
}

/** Entries of the array that `projectModule` fills. */
export const AT = { x: 0, y: 1, xa: 2, xb: 3, ya: 4, yb: 5, xk: 6, yk: 7, xh: 8, yh: 16 } as const;
export const PROJECTION_LENGTH = 24;

/**
 * Photo place of the tag's point (a, b) with its derivatives by a, b, k and the eight numbers of the homography.
 * @param h eight numbers from `offset` on
 */
export function projectModule(
  h: ArrayLike<number>,
  offset: number,
  frame: MarkerFrame,
  lens: RadialLens,
  k: number,
  a: number,
  b: number,
  out: Float64Array,
): void {
  const w = 1 / (h[offset + 6] * a + h[offset + 7] * b + 1);
  const u = (h[offset] * a + h[offset + 1] * b + h[offset + 2]) * w;
  const v = (h[offset + 3] * a + h[offset + 4] * b + h[offset + 5]) * w;
  const { scalePx } = frame;
  const px = frame.middleX + scalePx * u - lens.centreX;
  const py = frame.middleY + scalePx * v - lens.centreY;
  const f2 = lens.focalPx * lens.focalPx;
  const rho2 = (px * px + py * py - (frame.middleX - lens.centreX) ** 2 - (frame.middleY - lens.centreY) ** 2) / f2;
  const m = 1 + k * rho2;
  out[AT.x] = lens.centreX + px * m;
  out[AT.y] = lens.centreY + py * m;
  out[AT.xk] = px * rho2;
  out[AT.yk] = py * rho2;
  // Derivatives of the photo place by u and v.
  const twice = (2 * k) / f2;
  const xu = scalePx * (m + twice * px * px);
  const xv = scalePx * twice * px * py;
  const yv = scalePx * (m + twice * py * py);
  const ua = (h[offset] - h[offset + 6] * u) * w;
  const ub = (h[offset + 1] - h[offset + 7] * u) * w;
  const va = (h[offset + 3] - h[offset + 6] * v) * w;
  const vb = (h[offset + 4] - h[offset + 7] * v) * w;
  out[AT.xa] = xu * ua + xv * va;
  out[AT.xb] = xu * ub + xv * vb;
  out[AT.ya] = xv * ua + yv * va;
  out[AT.yb] = xv * ub + yv * vb;
  const [aw, bw] = [a * w, b * w];
  for (const [at, byU, byV] of [
    [AT.xh, xu, xv],
    [AT.yh, xv, yv],
  ]) {
    out[at] = byU * aw;
    out[at + 1] = byU * bw;
    out[at + 2] = byU * w;
    out[at + 3] = byV * aw;
    out[at + 4] = byV * bw;
    out[at + 5] = byV * w;
    const drift = -(byU * u + byV * v);
    out[at + 6] = drift * aw;
    out[at + 7] = drift * bw;
  }
}

/** Frame and homography of a marker whose corners in the photo are known, the lens taken to be without effect. */
export function startMarker(quad: Float64Array): { frame: MarkerFrame; h: Float64Array } | null {
  const middleX = (quad[0] + quad[2] + quad[4] + quad[6]) / 4;
  const middleY = (quad[1] + quad[3] + quad[5] + quad[7]) / 4;
  let scalePx = 0;
  for (let i = 0; i < 4; i++) scalePx += Math.hypot(quad[2 * i] - middleX, quad[2 * i + 1] - middleY) / 4;
  const scaled = quad.map((value, i) => (value - (i % 2 === 0 ? middleX : middleY)) / scalePx);
  const h = homographyFromQuad(scaled);
  return h === null ? null : { frame: { middleX, middleY, scalePx }, h };
}
