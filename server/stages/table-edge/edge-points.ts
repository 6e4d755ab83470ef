import type { Raster } from '../../images/raster.js';
import { sigmaOfMiddle } from '../../linalg/middle.js';
import type { TableEdgePoint } from '../../scene/table-edge.js';
import type { EdgeLayers, SecondStep } from './edge-layers.js';
import { type EdgePlace, placesOn } from './edge-places.js';
import { type EdgeProfile, emptyProfile, sampleProfile } from './edge-profile.js';
import { evaluatePolynomial, fitPolynomial } from './polynomial.js';
import { blurOf, fitStep, type StepFit, type StepModel, Workspace } from './step-fit.js';
import type { LineProjector } from './table-lines.js';
import type { Covered } from './track-zone.js';

/** Photo pixels between neighbouring points, and the length of edge that each point is averaged over. */
const spacingPx = 10;
const reachPx = 16;
/** What the tone curve of an unknown phone may shift an edge by, pixels (measured on pictures with truth). */
const toneSigmaPx = 0.05;
/** Least height of a step over its residuals. */
const leastClearness = 3;

export interface SidePoints {
  readonly points: readonly TableEdgePoint[];
  /** Share of the places along the side at which the edge was seen. */
  readonly seenRatio: number;
}

/** A sharp phone picture; replaced by what each side shows. */
const firstBlur = { blurPx: 0.7, colourBlurPx: 1.5 };

interface Samples {
  readonly places: readonly EdgePlace[];
  readonly profiles: readonly EdgeProfile[];
}

interface Found {
  readonly place: EdgePlace;
  readonly fit: StepFit;
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted.length ? sorted[sorted.length >> 1] : 0;
}

/** The second step near a place: the median of the three nearest windows. */
function secondNear(second: readonly SecondStep[], along: number): number | null {
  const near = [...second].sort((a, b) => Math.abs(a.along - along) - Math.abs(b.along - along)).slice(0, 3);
  const found = near.filter((s) => s.beyondPx !== null).map((s) => s.beyondPx as number);
  return found.length * 2 > near.length ? median(found) : null;
}

interface Blur {
  readonly blurPx: number;
  readonly colourBlurPx: number;
}

/** Room to both sides of the step; a second step within it is fitted too. */
function modelNear({ second, takenShare }: EdgeLayers, along: number, blur: Blur): StepModel {
  const at = secondNear(second, along);
  if (at !== null && takenShare !== undefined) return { ...blur, windowPx: 4, secondPx: at, takenShare };
  if (at === null || at > 4.5 + 2 * blur.blurPx) return { ...blur, windowPx: 4.5, secondPx: null };
  return { ...blur, windowPx: 4, secondPx: at };
}

/** Robust polynomial through the steps found; far ones lose their weight. */
function smoothCurve(found: readonly Found[], degree: number, widthPx: number): number[] | null {
  const along = found.map((f) => f.place.along);
  const shift = found.map((f) => f.fit.atPx);
  const base = found.map((f) => 1 / (f.fit.sigmaPx ** 2 + 0.01));
  let weight = base;
  let curve: number[] | null = null;
  for (let round = 0; round < 8; round++) {
    curve = fitPolynomial(along, shift, weight, round < 3 ? Math.min(1, degree) : degree);
    if (!curve) return null;
    const c = curve;
    const width = round < 3 ? 2 * widthPx : widthPx;
    weight = base.map((b, i) => b / (1 + ((shift[i] - evaluatePolynomial(c, along[i])) / width) ** 2) ** 2);
  }
  return curve;
}

function sampleAll(raster: Raster, places: readonly EdgePlace[]): EdgeProfile[] {
  return places.map((place) => {
    const profile = emptyProfile(reachPx);
    sampleProfile(raster, place.x, place.y, place.nx, place.ny, spacingPx, profile);
    return profile;
  });
}

function fitAll(
  { places, profiles }: Samples,
  layers: EdgeLayers,
  blur: Blur,
  start: (along: number) => number,
  searchPx: number,
): Found[] {
  const found: Found[] = [];
  const w = new Workspace();
  places.forEach((place, i) => {
    const from = start(place.along);
    const fit = fitStep(w, profiles[i], from, modelNear(layers, place.along, blur));
    if (fit && Math.abs(fit.atPx - from) <= searchPx && fit.clearness > leastClearness) found.push({ place, fit });
  });
  return found;
}

/** The blur of this side, from a few dozen of its profiles that show the step. */
function sideBlur(found: readonly Found[], profileOf: (f: Found) => EdgeProfile, layers: EdgeLayers): Blur {
  const clear = [...found].sort((a, b) => b.fit.clearness - a.fit.clearness).slice(0, Math.ceil(found.length / 2));
  const every = Math.max(1, Math.floor(clear.length / 40));
  const some = clear.filter((_, i) => i % every === 0);
  return blurOf(
    some.map(profileOf),
    some.map((f) => f.fit.atPx),
    modelNear(layers, some[0].place.along, firstBlur),
  );
}

/** Neighbouring places taken together: the middle place with the mean of their profiles. */
function grouped(places: readonly EdgePlace[], profiles: readonly EdgeProfile[], size: number): Samples {
  const middles: EdgePlace[] = [];
  const means: EdgeProfile[] = [];
  for (let i = 0; i + size <= places.length; i += size) {
    // Track may cover what lies between: the edge bows, and the middle would lie beside it.
    const last = places[i + size - 1];
    if (Math.hypot(last.x - places[i].x, last.y - places[i].y) > 1.5 * size * spacingPx) continue;
    const mean = emptyProfile(reachPx);
    for (let k = i; k < i + size; k++)
      for (let j = 0; j < mean.values.length; j++) mean.values[j] += profiles[k].values[j] / size;
    const a = places[i + ((size - 1) >> 1)];
    const b = places[i + (size >> 1)];
    const nx = a.nx + b.nx;
    const ny = a.ny + b.ny;
    const length = Math.hypot(nx, ny);
    middles.push({
      along: (a.along + b.along) / 2,
      x: (a.x + b.x) / 2,
      y: (a.y + b.y) / 2,
      nx: nx / length,
      ny: ny / length,
    });
    means.push(mean);
  }
  return { places: middles, profiles: means };
}

/** Standard uncertainty of a fit here: its own, raised to what the scatter about the smooth curve shows. */
function scatterRatio(found: readonly Found[], curve: readonly number[]): number {
  const ratio = found.map((f) => Math.abs(f.fit.atPx - evaluatePolynomial(curve, f.place.along)) / f.fit.sigmaPx);
  return Math.max(1, sigmaOfMiddle * median(ratio));
}

/**
 * Points on the edge, every 10 photo pixels (20 to 40 where texture drowns the edge), to a fraction of a pixel: a step
 * in linear light blurred by a Gaussian. First long stretches tell roughly where the edge is, then short ones exactly;
 * what does not lie on the smooth curve through the others is left out.
 */
export function findEdgePoints(
  raster: Raster,
  projector: LineProjector,
  layers: EdgeLayers,
  covered: Covered,
): SidePoints {
  const none = { points: [], seenRatio: 0 };
  const all = placesOn(projector, layers.curve, spacingPx, 3);
  const places = all.filter(({ x, y }) => !covered(x, y));
  if (places.length < 8) return none;
  let samples: Samples = { places, profiles: sampleAll(raster, places) };
  const long = grouped(places, samples.profiles, Math.max(2, Math.min(12, places.length >> 3)));
  const rough = fitAll(long, layers, firstBlur, () => 0, 2.5);
  const start = rough.length >= 3 ? smoothCurve(rough, rough.length > 6 ? 2 : 1, 0.5) : [0];
  if (!start) return none;
  const first = (along: number): number => evaluatePolynomial(start, along);
  let found = fitAll(samples, layers, firstBlur, first, 1.5);
  if (found.length < 8) return none;
  const { profiles } = samples;
  const blur = sideBlur(found, (f) => profiles[places.indexOf(f.place)], layers);
  found = fitAll(samples, layers, blur, first, 1.5);
  if (found.length < 8) return none;
  const curveOf = (): number[] | null => smoothCurve(found, Math.min(4, Math.floor(found.length / 8)), 0.4);
  let curve = curveOf();
  if (!curve) return none;
  const noisePx = median(found.map((f) => f.fit.sigmaPx)) * scatterRatio(found, curve);
  const size = Math.min(4, Math.ceil((noisePx / 0.25) ** 2), places.length >> 4);
  if (size > 1) {
    samples = grouped(places, samples.profiles, size);
    found = fitAll(samples, layers, blur, first, 1.5);
    curve = curveOf();
    if (found.length < 8 || !curve) return none;
  }
  const bare = places.length / all.length;
  return { points: keptPoints(found, curve), seenRatio: (bare * found.length) / Math.max(1, samples.places.length) };
}

function keptPoints(found: readonly Found[], curve: readonly number[]): TableEdgePoint[] {
  const residual = found.map((f) => f.fit.atPx - evaluatePolynomial(curve, f.place.along));
  const spread = sigmaOfMiddle * median(residual.map(Math.abs));
  const ratio = scatterRatio(found, curve);
  const points: TableEdgePoint[] = [];
  found.forEach(({ place, fit }, i) => {
    if (Math.abs(residual[i]) > Math.max(3 * spread, 0.1)) return;
    points.push({
      px: place.x + fit.atPx * place.nx,
      py: place.y + fit.atPx * place.ny,
      sigmaPx: Math.hypot(fit.sigmaPx * ratio, toneSigmaPx),
      normal: [place.nx, place.ny],
    });
  });
  return points;
}
