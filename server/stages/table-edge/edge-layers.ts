import type { Raster } from '../../images/raster.js';
import { type CurveProfiles, middleOf, profilesAcross, spacingPx } from './curve-profiles.js';
import { alongMm, type EdgeCurve, type EdgePlace, movedBy, placesOn } from './edge-places.js';
import { type EdgeProfile, emptyProfile, profileLikeness, profileStepPx, stepHeights } from './edge-profile.js';
import { type EdgeSeam, findEdgeSeam, pxPerMmAt } from './edge-seam.js';
import type { FinishLook } from './finish-model.js';
import { evaluatePolynomial, fitPolynomial } from './polynomial.js';
import { findSideFace } from './side-face.js';
import type { LineProjector } from './table-lines.js';
import type { Covered } from './track-zone.js';

/** What lies just beyond the edge along one side: a second step, such as the lower edge of the side face or a shadow. */
export interface SecondStep {
  /** s/alongMm of the middle of a window of the side. */
  readonly along: number;
  /** How far beyond the edge, pixels (negative: inside it); null where there is none within reach. */
  readonly beyondPx: number | null;
}

export interface EdgeLayers {
  /** The curve, moved to the inner of two steps when it lay on the outer. */
  readonly curve: EdgeCurve;
  readonly second: readonly SecondStep[];
  /** Where the second step is the inner border of a joint along the edge: the share of the light that it takes. */
  readonly takenShare?: number;
}

const reachPx = 20;
/** Places whose profiles are averaged: long enough to drown texture, short enough to stay straight to 0.1 px. */
const placesInWindow = 12;
const bandPx = 1.5;
/** A step nearer than this to another cannot be told from it. */
const leastApartPx = 1.75;
const mostApartPx = 14;
/** A second step counts from this share of the edge's own height. */
const leastShare = 0.2;

interface Window {
  readonly along: number;
  readonly heights: Float64Array;
  /** Height of the step on the curve. */
  readonly edge: number;
  /** Height that texture alone reaches. */
  readonly texture: number;
  readonly profile: EdgeProfile;
}

function windowOf(finish: FinishLook, places: readonly EdgePlace[], profiles: readonly EdgeProfile[]): Window | null {
  const mean = emptyProfile(reachPx);
  let used = 0;
  for (const whole of profiles) {
    const profile = middleOf(whole, reachPx);
    if (profileLikeness(profile, finish, -18, -3 - bandPx) < 0.4) continue;
    used++;
    for (let i = 0; i < mean.values.length; i++) mean.values[i] += profile.values[i];
  }
  if (used < placesInWindow / 3) return null;
  const middle = places[places.length >> 1];
  mean.px = middle.x;
  mean.py = middle.y;
  for (let i = 0; i < mean.values.length; i++) mean.values[i] /= used;
  const heights = stepHeights(mean, finish, bandPx);
  const from = (t: number): number => Math.round((t + reachPx) / profileStepPx);
  const edge = Math.max(...heights.subarray(from(-1), from(1) + 1));
  const beyond = Array.from(heights.subarray(from(-17), from(-mostApartPx + 5))).sort((a, b) => a - b);
  const along = places.reduce((sum, p) => sum + p.along, 0) / places.length;
  return { along, heights, edge, texture: beyond[Math.floor(0.8 * beyond.length)], profile: mean };
}

function isPeak(heights: Float64Array, i: number): boolean {
  const apart = Math.round(leastApartPx / profileStepPx / 2);
  for (let k = i - apart; k <= i + apart; k++)
    if (heights[k] > heights[i] || (heights[k] === heights[i] && k < i)) return false;
  return true;
}

/** The first step inwards of the curve that stands out of the texture, with finish inside of it, pixels (negative). */
function stepInside(w: Window, finish: FinishLook): number | null {
  const least = Math.max(3 * w.texture, 0.25 * w.edge, 1.5);
  for (let t = -leastApartPx; t >= -mostApartPx; t -= profileStepPx) {
    const i = Math.round((t + reachPx) / profileStepPx);
    if (w.heights[i] < least || !isPeak(w.heights, i)) continue;
    const inside = profileLikeness(w.profile, finish, t - 5, t - 1.5);
    const between = profileLikeness(w.profile, finish, Math.min(t + 1, -0.5), -1);
    return inside > 0.5 && between < inside + 0.1 ? t : null;
  }
  return null;
}

function stepBeyond(w: Window): number | null {
  const least = Math.max(2 * w.texture, leastShare * w.edge);
  for (let t = leastApartPx; t <= mostApartPx; t += profileStepPx) {
    const i = Math.round((t + reachPx) / profileStepPx);
    if (w.heights[i] >= least && isPeak(w.heights, i)) return t;
  }
  return null;
}

function windowsOf(finish: FinishLook, { places, profiles }: CurveProfiles): Window[] {
  const windows: Window[] = [];
  for (let i = 0; i + placesInWindow <= places.length; i += placesInWindow) {
    const end = i + placesInWindow;
    const w = windowOf(finish, places.slice(i, end), profiles.slice(i, end));
    if (w) windows.push(w);
  }
  return windows;
}

/**
 * A straight shift that most of the windows agree with, or null.
 * @param share of all windows that must agree within 1.2 px
 */
function agreedShift(windows: readonly Window[], at: readonly (number | null)[], share: number): number[] | null {
  const x: number[] = [];
  const y: number[] = [];
  at.forEach((t, i) => {
    if (t === null) return;
    x.push(windows[i].along);
    y.push(t);
  });
  if (x.length < Math.max(3, share * windows.length)) return null;
  let weight = y.map(() => 1);
  let line: number[] | null = null;
  for (let round = 0; round < 10; round++) {
    line = fitPolynomial(x, y, weight, round < 4 ? 0 : 1);
    if (!line) return null;
    const l = line;
    weight = y.map((v, i) => 1 / (1 + ((v - evaluatePolynomial(l, x[i])) / 0.8) ** 2) ** 2);
  }
  const l = line as number[];
  const agreed = y.filter((v, i) => Math.abs(v - evaluatePolynomial(l, x[i])) < 1.2).length;
  return agreed >= Math.max(3, share * windows.length) ? line : null;
}

/**
 * Looks at what lies on both sides of an edge curve: where the finish ends before the curve, the curve lay on the lower
 * edge of the side face (or on a shadow) and moves to the inner step, which is the upper edge.
 */
export function layersAt(
  raster: Raster,
  projector: LineProjector,
  finish: FinishLook,
  start: EdgeCurve,
  covered: Covered,
): EdgeLayers {
  let across = profilesAcross(raster, projector, start, covered);
  const face = findSideFace(across, projector);
  if (face) {
    const { curve, depthMm } = face;
    const seam = findEdgeSeam(raster, profilesAcross(raster, projector, curve, covered), projector);
    if (seam) return seamLayers(projector, seam);
    const widthPx = (p: EdgePlace): number => projector.faceWidthPx(curve.line, p.along * alongMm, depthMm);
    const places = placesOn(projector, curve, placesInWindow * spacingPx, 6);
    return { curve, second: places.map((p) => ({ along: p.along, beyondPx: widthPx(p) })) };
  }
  let windows = windowsOf(finish, across);
  for (let round = 0; round < 2; round++) {
    const shift = agreedShift(
      windows,
      windows.map((w) => stepInside(w, finish)),
      0.5,
    );
    if (!shift) break;
    across = profilesAcross(raster, projector, movedBy(across.curve, shift), covered);
    windows = windowsOf(finish, across);
  }
  const seam = findEdgeSeam(raster, across, projector);
  if (seam) return seamLayers(projector, seam);
  return { curve: across.curve, second: windows.map((w) => ({ along: w.along, beyondPx: stepBeyond(w) })) };
}

/** A seam along the edge: its inner border is a step before it. */
function seamLayers(projector: LineProjector, { curve, widthMm, takenShare }: EdgeSeam): EdgeLayers {
  const second = placesOn(projector, curve, placesInWindow * spacingPx, 6).map((p) => ({
    along: p.along,
    beyondPx: -widthMm * pxPerMmAt(projector, curve, p.along),
  }));
  return { curve, second, takenShare };
}
