import type { Raster } from '../../images/raster.js';
import type { TableEdgePoint } from '../../scene/table-edge.js';
import type { OutlineSide } from './choose-outline.js';
import { profileStepPx, sampleProfile } from './edge-profile.js';
import { evaluatePolynomial, fitPolynomial } from './polynomial.js';
import { alongMm } from './side-path.js';
import { fitStep, type StepFit } from './step-fit.js';
import type { LineProjector } from './table-lines.js';

/** Photo pixels between neighbouring points, and the length of edge that each point is averaged over. */
const spacingPx = 10;
const reachPx = 14;
const count = Math.round((2 * reachPx) / profileStepPx) + 1;

interface Place {
  readonly along: number;
  readonly x: number;
  readonly y: number;
  readonly nx: number;
  readonly ny: number;
}

export interface SidePoints {
  readonly points: readonly TableEdgePoint[];
  /** Share of the places along the side at which the edge was seen. */
  readonly seenRatio: number;
}

function placesOn(projector: LineProjector, side: OutlineSide, shiftPx: readonly number[], marginPx: number): Place[] {
  const line = projector.lineInPhoto(side.path.line, spacingPx, marginPx);
  const places: Place[] = [];
  const at = (i: number): [number, number] => {
    const shift = evaluatePolynomial(shiftPx, line.sMm[i] / alongMm);
    return [line.px[i] + shift * line.nx[i], line.py[i] + shift * line.ny[i]];
  };
  for (let i = 1; i < line.count - 1; i++) {
    if (line.sMm[i] < side.fromMm || line.sMm[i] > side.toMm) continue;
    const [x, y] = at(i);
    const [ax, ay] = at(i - 1);
    const [bx, by] = at(i + 1);
    const length = Math.hypot(bx - ax, by - ay);
    let nx = -(by - ay) / length;
    let ny = (bx - ax) / length;
    if (nx * line.nx[i] + ny * line.ny[i] < 0) {
      nx = -nx;
      ny = -ny;
    }
    places.push({ along: line.sMm[i] / alongMm, x, y, nx, ny });
  }
  return places;
}

/** The largest step within ±searchPx of the middle: where the means of 3 px on both sides differ most. */
function largestStep(profile: Float64Array, searchPx: number): number {
  const band = Math.round(3 / profileStepPx);
  const middle = (count - 1) / 2;
  const search = Math.round(searchPx / profileStepPx);
  let best = -1;
  let at = middle;
  for (let i = middle - search; i <= middle + search; i++) {
    let square = 0;
    for (let c = 0; c < 3; c++) {
      let d = 0;
      for (let k = 1; k <= band; k++) d += profile[3 * (i + k) + c] - profile[3 * (i - k) + c];
      square += d * d;
    }
    if (square > best) {
      best = square;
      at = i;
    }
  }
  return at * profileStepPx - reachPx;
}

/** The profile along the colour difference of the two sides of the step. */
function projected(profile: Float64Array, atPx: number, out: Float64Array): void {
  const direction = [0, 0, 0];
  const index = (t: number): number => Math.min(count - 1, Math.max(0, Math.round((t + reachPx) / profileStepPx)));
  for (let c = 0; c < 3; c++)
    for (let k = 2; k <= 10; k++)
      direction[c] += profile[3 * index(atPx + k / 2) + c] - profile[3 * index(atPx - k / 2) + c];
  const length = Math.hypot(...direction) || 1;
  for (let i = 0; i < count; i++)
    out[i] =
      (direction[0] * profile[3 * i] + direction[1] * profile[3 * i + 1] + direction[2] * profile[3 * i + 2]) / length;
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted.length ? sorted[sorted.length >> 1] : 0;
}

/** Robust polynomial through step places; returns the shift to add to the path. */
function smoothCurve(
  along: readonly number[],
  shift: readonly number[],
  sigma: readonly number[],
  degree: number,
  widthPx: number,
): number[] | null {
  let weight = sigma.map((s) => 1 / (s * s + 0.01));
  let curve: number[] | null = null;
  for (let round = 0; round < 8; round++) {
    curve = fitPolynomial(along, shift, weight, round < 3 ? Math.min(2, degree) : degree);
    if (!curve) return null;
    const c = curve;
    const width = round < 3 ? 3 * widthPx : widthPx;
    weight = sigma.map(
      (s, i) => 1 / (s * s + 0.01) / (1 + ((shift[i] - evaluatePolynomial(c, along[i])) / width) ** 2) ** 2,
    );
  }
  return curve;
}

interface Found {
  readonly place: Place;
  readonly fit: StepFit;
}

function fitPlaces(raster: Raster, places: readonly Place[], searchPx: number, blurPx: number | null): Found[] {
  const profile = new Float64Array(3 * count);
  const values = new Float64Array(count);
  const found: Found[] = [];
  for (const place of places) {
    sampleProfile(raster, place.x, place.y, place.nx, place.ny, reachPx, spacingPx, profile);
    const start = largestStep(profile, searchPx);
    projected(profile, start, values);
    const fit = fitStep(values, -reachPx, profileStepPx, start, 5, blurPx);
    if (fit && Math.abs(fit.atPx) <= searchPx + 1 && fit.roughness < 0.3) found.push({ place, fit });
  }
  return found;
}

function addShift(shiftPx: readonly number[], more: readonly number[]): number[] {
  const n = Math.max(shiftPx.length, more.length);
  return Array.from({ length: n }, (_, k) => (shiftPx[k] ?? 0) + (more[k] ?? 0));
}

/**
 * Points on the edge, every 10 photo pixels, to a fraction of a pixel: a blurred step in linear light along the normal,
 * first near the coarse path, then near the smooth curve through what was found.
 */
export function findEdgePoints(raster: Raster, projector: LineProjector, side: OutlineSide): SidePoints {
  let shiftPx = side.path.shiftPx;
  let blurPx: number | null = null;
  for (const [searchPx, degree, widthPx] of [
    [7, 2, 1.5],
    [3.5, 3, 0.7],
  ]) {
    const found = fitPlaces(raster, placesOn(projector, side, shiftPx, 4), searchPx, null);
    if (found.length < 8) return { points: [], seenRatio: 0 };
    const curve = smoothCurve(
      found.map((f) => f.place.along),
      found.map((f) => f.fit.atPx),
      found.map((f) => f.fit.sigmaPx),
      degree,
      widthPx,
    );
    if (!curve) return { points: [], seenRatio: 0 };
    const near = found.filter((f) => Math.abs(f.fit.atPx - evaluatePolynomial(curve, f.place.along)) < 2 * widthPx);
    blurPx = median(near.map((f) => f.fit.blurPx));
    shiftPx = addShift(shiftPx, curve);
  }
  const places = placesOn(projector, side, shiftPx, 2);
  const found = fitPlaces(raster, places, 2.5, blurPx);
  if (found.length < 8) return { points: [], seenRatio: 0 };
  const along = found.map((f) => f.place.along);
  const shift = found.map((f) => f.fit.atPx);
  const sigma = found.map((f) => f.fit.sigmaPx);
  const curve = smoothCurve(along, shift, sigma, 4, 0.4);
  if (!curve) return { points: [], seenRatio: 0 };
  const residual = found.map((f) => f.fit.atPx - evaluatePolynomial(curve, f.place.along));
  const spread = 1.4826 * median(residual.map(Math.abs));
  const ratio = 1.4826 * median(residual.map((r, i) => Math.abs(r) / Math.max(sigma[i], 1e-3)));
  const points: TableEdgePoint[] = [];
  found.forEach((f, i) => {
    if (Math.abs(residual[i]) > Math.max(3 * spread, 0.1)) return;
    const { place, fit } = f;
    points.push({
      px: place.x + fit.atPx * place.nx,
      py: place.y + fit.atPx * place.ny,
      sigmaPx: Math.max(fit.sigmaPx * Math.max(ratio, 1), 0.02),
      normal: [place.nx, place.ny],
    });
  });
  return { points, seenRatio: points.length / Math.max(1, places.length) };
}
