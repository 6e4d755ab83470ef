import { throwIfCancelled } from '../../base/cancel.js';
import { alone, type DoParts } from '../../base/parts.js';
import type { Camera } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import type { LightPlace, TraceSample } from '../../scene/rail-trace.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { smoothed, smoothedTwice, withHeadings } from './even-line.js';
import { type RailLook, railLook, railOffsets } from './rail-edges.js';
import {
  angleAcross,
  fillTrackMerit,
  type Place,
  profileAcross,
  railMerit,
  searchStepMm,
  shiftCount,
  viewAngleAcross,
} from './rail-merit.js';
import { smoothestShifts } from './smoothest-shifts.js';

/** Times that a line is evened out: steps of the plan's pixels are gone then; curves are drawn in by half a millimetre. */
const evenings = 12;

/** How a line is moved onto the rails. */
export interface RefineSteps {
  /** How far the rails may lie from the line given, millimetres. */
  readonly reachMm: number;
  /** Whether the line was drawn on the plan or by hand; else it lies on the rails but for small errors. */
  readonly isRough: boolean;
  /** Times that it is moved. */
  readonly passes: number;
}

export interface RefineOptions extends RefineSteps {
  /** Distance between samples. */
  readonly stepMm: number;
  readonly light: LightPlace;
}

/** What is asked of places on a line. */
export interface PlacesAsked {
  readonly raster: Raster;
  readonly camera: Camera;
  readonly track: TrackProfile;
  readonly light: LightPlace;
  readonly places: readonly Place[];
  readonly reachMm: number;
  /** Takes what is found, as many numbers for each place, in memory that several threads see. */
  readonly out: Float64Array;
}

/** What several threads may share of following a line: the parts are its places. */
export interface RailWorks {
  readonly merits: DoParts<PlacesAsked>;
  readonly rails: DoParts<PlacesAsked>;
}

export const aloneWithRails: RailWorks = { merits: alone(fillMerits), rails: alone(fillRails) };

/** Room for what is found of one line, used again and again. */
let room = new Float64Array(new SharedArrayBuffer(0));
function roomFor(count: number): Float64Array {
  if (room.length < count) room = new Float64Array(new SharedArrayBuffer(8 * count));
  return room.subarray(0, count);
}

type Line = readonly { readonly x: number; readonly y: number }[];

/**
 * Moves a rough centre line onto the rails, at full resolution: at each sample the profile across the track is compared
 * with the edges that the track's cross-section must show from this camera.
 * @param line table frame, at the height of the rail axes
 */
export function refinePath(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  line: Line,
  closed: boolean,
  options: RefineOptions,
  signal?: AbortSignal,
  works: RailWorks = aloneWithRails,
): Place[] {
  const given = resample(line, closed, options.stepMm);
  let stations = options.isRough ? smoothed(given, closed, evenings) : smoothedTwice(given, closed, evenings);
  let reach = options.reachMm;
  for (let pass = 0; pass < options.passes; pass++) {
    throwIfCancelled(signal);
    const places = withHeadings(stations, closed);
    const shiftsTried = shiftCount(reach);
    const out = roomFor(places.length * shiftsTried);
    works.merits({ raster, camera, track, light: options.light, places, reachMm: reach, out }, places.length);
    const merits = places.map((_, i) => out.subarray(i * shiftsTried, (i + 1) * shiftsTried));
    const shifts = smoothestShifts(merits, closed);
    const moved = places.map((p, i) => {
      const shift = (shifts[i] - (shiftsTried - 1) / 2) * searchStepMm;
      return { x: p.x - shift * Math.sin(p.headingRad), y: p.y + shift * Math.cos(p.headingRad) };
    });
    stations = smoothed(moved, closed, pass === 0 && options.passes > 1 ? 3 : 2);
    reach = Math.max(1.5, reach / 2.5);
  }
  return withHeadings(stations, closed);
}

/** The merit of all rails together for each shift, at each place; for `RailWorks`. */
export function fillMerits(asked: PlacesAsked, from: number, to: number): void {
  const { raster, camera, track, light, places, reachMm, out } = asked;
  const n = shiftCount(reachMm);
  for (let i = from; i < to; i++) {
    const look = lookAt(camera, track, places[i], light);
    const profile = profileAcross(raster, camera, track, places[i], look, reachMm);
    fillTrackMerit(out.subarray(i * n, (i + 1) * n), profile, track, look);
  }
}

/** Where each rail lies beside places that are on the rails but for what one may stray. */
export function measureRails(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  places: readonly Place[],
  light: LightPlace,
  works: RailWorks = aloneWithRails,
): TraceSample[] {
  const out = roomFor(3 * places.length);
  works.rails({ raster, camera, track, light, places, reachMm: railReachMm, out }, places.length);
  return places.map(({ x, y, headingRad }, i) => {
    return { x, y, headingRad, sidewaysMm: [out[3 * i], out[3 * i + 1], out[3 * i + 2]] };
  });
}

export function resample(line: Line, closed: boolean, stepMm: number): { x: number; y: number }[] {
  const points = closed ? [...line, line[0]] : [...line];
  const out: { x: number; y: number }[] = [];
  let left = 0;
  for (let i = 0; i + 1 < points.length; i++) {
    const a = points[i];
    const b = points[i + 1];
    const length = Math.hypot(b.x - a.x, b.y - a.y);
    let t = left;
    for (; t < length; t += stepMm)
      out.push({ x: a.x + ((b.x - a.x) * t) / length, y: a.y + ((b.y - a.y) * t) / length });
    left = t - length;
  }
  return out;
}

/** Place of the highest value, to a fraction by the parabola through its neighbours. */
function peak(values: Float64Array): number {
  let best = 0;
  for (let i = 1; i < values.length; i++) if (values[i] > values[best]) best = i;
  if (best === 0 || best === values.length - 1) return best;
  const a = values[best - 1];
  const b = values[best];
  const c = values[best + 1];
  const bend = a - 2 * b + c;
  return bend < 0 ? best + (0.5 * (a - c)) / bend : best;
}

function lookAt(camera: Camera, track: TrackProfile, place: Place, light: LightPlace): RailLook {
  return railLook(track, viewAngleAcross(camera, place, track.railTopMm), angleAcross(light, place, track.railTopMm));
}

/** How far one rail may stray from the three together, millimetres. */
const railReachMm = 1.25;

/** How far sideways of each place its rails lie, NaN where they are not seen; for `RailWorks`. */
export function fillRails(asked: PlacesAsked, from: number, to: number): void {
  const { raster, camera, track, light, places, reachMm, out } = asked;
  out.fill(Number.NaN, 3 * from, 3 * to);
  for (let i = from; i < to; i++) {
    const look = lookAt(camera, track, places[i], light);
    const profile = profileAcross(raster, camera, track, places[i], look, reachMm);
    for (const { rail, offsetMm } of railOffsets(track)) {
      const merit = railMerit(profile, offsetMm, look, reachMm);
      if (merit.some((v) => Number.isNaN(v))) continue;
      const at = peak(merit);
      const n = merit.length;
      if (at < 1 || at > n - 2) continue;
      if (merit[Math.round(at)] < 0.06 * look.edges.length + 0.04) continue;
      out[3 * i + rail + 1] = (at - (n - 1) / 2) * searchStepMm;
    }
  }
}
