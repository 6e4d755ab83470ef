import { throwIfCancelled } from '../../base/cancel.js';
import type { Camera } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import { giveBack, sharedDoubles } from '../../images/spare-memory.js';
import type { LightPlace, TraceSample } from '../../scene/rail-trace.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { smoothed, smoothedTwice, withHeadings } from './even-line.js';
import { type Place, searchStepMm, shiftCount } from './rail-merit.js';
import { aloneWithRails, type RailWorks } from './rail-works.js';
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

type Spot = { readonly x: number; readonly y: number; readonly crestAsideMm?: number | undefined };
type Line = readonly Spot[];

/**
 * Moves a rough centre line onto the rails, at full resolution: at each sample the profile across the track is compared
 * with the edges that the track's cross-section must show from this camera.
 * @param line table frame, at the height of the rail axes; where crests are seen beside where the light puts them, by how far
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
    const places = withCrests(withHeadings(stations, closed), given);
    const shiftsTried = shiftCount(reach);
    const out = sharedDoubles(places.length * shiftsTried);
    works.merits({ raster, camera, track, light: options.light, places, reachMm: reach, out }, places.length);
    const merits = places.map((_, i) => out.subarray(i * shiftsTried, (i + 1) * shiftsTried));
    const shifts = smoothestShifts(merits, closed);
    giveBack(out);
    const moved = places.map((p, i) => {
      const shift = (shifts[i] - (shiftsTried - 1) / 2) * searchStepMm;
      return { x: p.x - shift * Math.sin(p.headingRad), y: p.y + shift * Math.cos(p.headingRad) };
    });
    stations = smoothed(moved, closed, pass === 0 && options.passes > 1 ? 3 : 2);
    reach = Math.max(1.5, reach / 2.5);
  }
  return withCrests(withHeadings(stations, closed), given);
}

/** Places with the crests of those that they were before they were moved. */
function withCrests(places: readonly Place[], before: Line): Place[] {
  return places.map((place, i) => {
    const { crestAsideMm } = before[i];
    return crestAsideMm === undefined ? place : { ...place, crestAsideMm };
  });
}

/** How far one rail may stray from the three together, millimetres. */
const railReachMm = 1.25;

/** Where each rail lies beside places that are on the rails but for what one may stray. */
export function measureRails(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  places: readonly Place[],
  light: LightPlace,
  works: RailWorks = aloneWithRails,
): TraceSample[] {
  const out = sharedDoubles(3 * places.length);
  works.rails({ raster, camera, track, light, places, reachMm: railReachMm, out }, places.length);
  const samples = places.map((place, i): TraceSample => {
    return { ...place, sidewaysMm: [out[3 * i], out[3 * i + 1], out[3 * i + 2]] };
  });
  giveBack(out);
  return samples;
}

export function resample(line: Line, closed: boolean, stepMm: number): Spot[] {
  const points = closed ? [...line, line[0]] : [...line];
  const out: Spot[] = [];
  let left = 0;
  for (let i = 0; i + 1 < points.length; i++) {
    const a = points[i];
    const b = points[i + 1];
    const length = Math.hypot(b.x - a.x, b.y - a.y);
    let t = left;
    for (; t < length; t += stepMm)
      out.push({
        x: a.x + ((b.x - a.x) * t) / length,
        y: a.y + ((b.y - a.y) * t) / length,
        crestAsideMm: a.crestAsideMm,
      });
    left = t - length;
  }
  return out;
}
