import type { Raster } from '../../images/raster.js';
import { alongMm, type EdgeCurve, type EdgePlace, movedBy, placesOn } from './edge-places.js';
import { type EdgeProfile, emptyProfile, sampleProfile } from './edge-profile.js';
import { evaluatePolynomial, fitPolynomial } from './polynomial.js';
import { fitStep, type StepFit, Workspace } from './step-fit.js';
import type { LineProjector } from './table-lines.js';

/** The side of the table top, seen by a camera beyond the edge. */
export interface SideFace {
  /** The upper edge. */
  readonly curve: EdgeCurve;
  readonly depthMm: number;
}

/** Thicknesses of table tops tried (common practice, no source), millimetres. */
const depthsMm = [8, 10, 12, 14, 16, 18, 20, 22, 25, 28, 32, 36, 40, 45];
const spacingPx = 10;
const segments = 8;
/** A face narrower than this cannot be told from a sharpened edge. */
const leastWidthPx = 1.2;
/** A wider face is found as a step of its own. */
const mostWidthPx = 14;
/** How much the logarithm of the residual variances (three channels) must fall, in most of the segments. */
const leastGain = 0.7;
/** Blurs tried: which one it is decides how wide the face seems. */
const blursPx = [0.4, 0.55, 0.75, 1, 1.4];
const colourBlurPx = 1.5;
const windowPx = 5;

interface Segment {
  readonly along: number;
  readonly profile: EdgeProfile;
}

function meanProfile(raster: Raster, places: readonly EdgePlace[]): EdgeProfile {
  const mean = emptyProfile(2 * mostWidthPx);
  const one = emptyProfile(2 * mostWidthPx);
  for (const p of places) {
    sampleProfile(raster, p.x, p.y, p.nx, p.ny, spacingPx, one);
    for (let i = 0; i < mean.values.length; i++) mean.values[i] += one.values[i] / places.length;
  }
  return mean;
}

/** The best of the fits that start on the curve and one face further in (the curve may lie on the lower edge). */
function fitFace(w: Workspace, segment: Segment, widthPx: number, blurPx: number): StepFit | null {
  const model = { blurPx, colourBlurPx, windowPx, secondPx: widthPx };
  let best: StepFit | null = null;
  for (const start of [0, -widthPx]) {
    const fit = fitStep(w, segment.profile, start, model);
    if (fit && (!best || fit.misfit < best.misfit)) best = fit;
  }
  return best;
}

function smaller(a: number | null, b: number | null): number | null {
  if (a === null || b === null) return a ?? b;
  return Math.min(a, b);
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1];
}

/**
 * Looks for the face of the table top's side where the camera, as it is known, must see it, and puts the curve on the
 * face's upper edge. One thickness serves for the whole side. Null when no face is seen.
 */
export function findSideFace(raster: Raster, projector: LineProjector, curve: EdgeCurve): SideFace | null {
  const places = placesOn(projector, curve, spacingPx, 6);
  if (places.length < 3 * segments) return null;
  const widthAt = (along: number, depthMm: number): number =>
    projector.faceWidthPx(curve.line, along * alongMm, depthMm);
  const middle = places[places.length >> 1].along;
  if (widthAt(middle, depthsMm[depthsMm.length - 1]) < leastWidthPx) return null;
  const perSegment = Math.floor(places.length / segments);
  const list: Segment[] = Array.from({ length: segments }, (_, k) => {
    const some = places.slice(k * perSegment, (k + 1) * perSegment);
    const profile = meanProfile(raster, some);
    return { along: some[some.length >> 1].along, profile };
  });
  const w = new Workspace();
  let bestWithout: (number | null)[] = list.map(() => null);
  let best: { gain: number; depthMm: number; fits: (StepFit | null)[] } | null = null;
  for (const blurPx of blursPx) {
    const single = { blurPx, colourBlurPx, windowPx: windowPx + 2, secondPx: null };
    const without = list.map((s) => fitStep(w, s.profile, 0, single)?.misfit ?? null);
    bestWithout = without.map((m, i) => smaller(m, bestWithout[i]));
  }
  for (const blurPx of blursPx)
    for (const depthMm of depthsMm) {
      const width = widthAt(middle, depthMm);
      if (width < leastWidthPx || width > mostWidthPx) continue;
      const fits = list.map((s) => fitFace(w, s, widthAt(s.along, depthMm), blurPx));
      const gain = median(fits.map((f, i) => (f ? (bestWithout[i] ?? f.misfit + 3) - f.misfit : -3)));
      if (!best || gain > best.gain) best = { gain, depthMm, fits };
    }
  if (!best || best.gain < leastGain) return null;
  const moved = robustLine(list, best.fits);
  return moved ? { curve: movedBy(curve, moved), depthMm: best.depthMm } : null;
}

function robustLine(list: readonly Segment[], fits: readonly (StepFit | null)[]): number[] | null {
  const x: number[] = [];
  const y: number[] = [];
  fits.forEach((f, i) => {
    if (!f) return;
    x.push(list[i].along);
    y.push(f.atPx);
  });
  if (x.length < segments / 2) return null;
  let line: number[] | null = [median(y)];
  for (let round = 0; round < 8; round++) {
    const l: number[] = line;
    const weight = y.map((v, i) => 1 / (1 + ((v - evaluatePolynomial(l, x[i])) / 0.5) ** 2) ** 2);
    line = fitPolynomial(x, y, weight, round < 3 ? 0 : 1);
    if (!line) return null;
  }
  return line;
}
