import { throwIfCancelled } from '../../base/cancel.js';
import { type Camera, cameraCentreInTable } from '../../geometry/camera.js';
import { sampleAcross } from '../../images/cross-profile.js';
import type { Raster } from '../../images/raster.js';
import type { TraceSample } from '../../scene/rail-trace.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { type RailLook, railLook, railOffsets } from './rail-edges.js';

export interface RefineOptions {
  /** How far the rails may lie from the path given, millimetres. */
  readonly reachMm: number;
  /** Distance between samples. */
  readonly stepMm: number;
}

const profileGrid = { count: 273, stepMm: 0.25 };
const searchStepMm = 0.125;

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
): TraceSample[] {
  let stations = smoothed(resample(line, closed, options.stepMm), closed, 2);
  let reach = options.reachMm;
  for (let pass = 0; pass < 3; pass++) {
    throwIfCancelled(signal);
    const places = withHeadings(stations, closed);
    const merits = places.map((p) => meritAcross(raster, camera, track, p, reach));
    const shifts = smoothestShifts(merits, closed);
    const moved = places.map((p, i) => {
      const shift = shifts[i];
      return { x: p.x - shift * Math.sin(p.headingRad), y: p.y + shift * Math.cos(p.headingRad) };
    });
    stations = smoothed(moved, closed, pass === 0 ? 3 : 2);
    reach = Math.max(1.5, reach / 2.5);
  }
  return withHeadings(stations, closed).map((p) => measureRails(raster, camera, track, p));
}

type Place = { x: number; y: number; headingRad: number };

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

/** Running quadratic-free smoothing: repeated means of three, which leave straight lines straight. */
function smoothed(points: { x: number; y: number }[], closed: boolean, times: number): { x: number; y: number }[] {
  let now = points;
  const n = points.length;
  for (let k = 0; k < times; k++) {
    now = now.map((p, i) => {
      if (!closed && (i === 0 || i === n - 1)) return p;
      const a = now[(i + n - 1) % n];
      const b = now[(i + 1) % n];
      return { x: (a.x + 2 * p.x + b.x) / 4, y: (a.y + 2 * p.y + b.y) / 4 };
    });
  }
  return now;
}

function withHeadings(points: readonly { x: number; y: number }[], closed: boolean): Place[] {
  const n = points.length;
  return points.map((p, i) => {
    const reach = 3;
    const a = points[closed ? (i + n - reach) % n : Math.max(0, i - reach)];
    const b = points[closed ? (i + reach) % n : Math.min(n - 1, i + reach)];
    return { x: p.x, y: p.y, headingRad: Math.atan2(b.y - a.y, b.x - a.x) };
  });
}

interface AcrossProfile {
  /** Root of linear brightness, so that a glaring crest does not outvote the rest; NaN outside the photo. */
  readonly level: Float64Array;
  /** Its absolute change over three quarters of a millimetre. */
  readonly slope: Float64Array;
}

function profileAcross(raster: Raster, camera: Camera, track: TrackProfile, place: Place): AcrossProfile {
  const height = track.railTopMm - track.headWidthMm / 2;
  const sum = new Float64Array(profileGrid.count);
  const along = [-4.5, -1.5, 1.5, 4.5];
  for (const a of along)
    sampleAcross(
      raster,
      camera,
      place.x + a * Math.cos(place.headingRad),
      place.y + a * Math.sin(place.headingRad),
      place.headingRad,
      height,
      profileGrid,
      (k, value) => {
        sum[k] += value / along.length;
      },
    );
  const level = sum.map((v) => Math.sqrt(Math.max(0, v)));
  const slope = new Float64Array(profileGrid.count).fill(Number.NaN);
  for (let k = 2; k < profileGrid.count - 2; k++)
    slope[k] = Math.abs(level[k + 1] + 0.5 * level[k + 2] - level[k - 1] - 0.5 * level[k - 2]);
  return { level, slope };
}

/** Sideways run of the view for each millimetre of height, left of the heading positive. */
export function viewSlopeAcross(camera: Camera, place: Place, heightMm: number): number {
  const c = cameraCentreInTable(camera.cameraFromTable);
  const dx = c[0] - place.x;
  const dy = c[1] - place.y;
  return (-dx * Math.sin(place.headingRad) + dy * Math.cos(place.headingRad)) / (c[2] - heightMm);
}

function valueAt(values: Float64Array, offsetMm: number): number {
  const q = offsetMm / profileGrid.stepMm + (profileGrid.count - 1) / 2;
  const k = Math.floor(q);
  if (k < 0 || k + 1 >= values.length) return Number.NaN;
  return values[k] + (q - k) * (values[k + 1] - values[k]);
}

/**
 * How well the rail's edges fit, for each shift from −reach to +reach: the changes of brightness where its edges would
 * be, and the crest of the head being brighter than its flanks (a tube mirrors what is above it on top, and the dark
 * room on its sides).
 */
function railMerit(profile: AcrossProfile, offsetMm: number, look: RailLook, reach: number): Float64Array {
  const n = 2 * Math.round(reach / searchStepMm) + 1;
  const out = new Float64Array(n);
  // Flanks: three quarters of the way from the crest to each side of the tube.
  const leftFlank = look.crestMm + 0.75 * (-look.headHalfMm - look.crestMm);
  const rightFlank = look.crestMm + 0.75 * (look.headHalfMm - look.crestMm);
  for (let i = 0; i < n; i++) {
    const at = offsetMm + (i - (n - 1) / 2) * searchStepMm;
    for (const edge of look.edges) out[i] += edge.weight * Math.min(0.35, valueAt(profile.slope, at + edge.offsetMm));
    const c = at + look.crestMm;
    const crest = (valueAt(profile.level, c) + valueAt(profile.level, c + 0.5) + valueAt(profile.level, c - 0.5)) / 3;
    const left = crest - valueAt(profile.level, at + leftFlank);
    const right = crest - valueAt(profile.level, at + rightFlank);
    out[i] += 2 * Math.max(-0.3, Math.min(0.4, Math.min(left, right) + 0.25 * Math.max(left, right)));
  }
  return out;
}

function meritAcross(raster: Raster, camera: Camera, track: TrackProfile, place: Place, reach: number): Float64Array {
  const profile = profileAcross(raster, camera, track, place);
  const look = railLook(track, viewSlopeAcross(camera, place, track.railTopMm));
  let total: Float64Array | null = null;
  for (const { offsetMm } of railOffsets(track)) {
    const one = railMerit(profile, offsetMm, look, reach);
    total = total ? total.map((v, i) => v + one[i]) : one;
  }
  return (total as Float64Array).map((v) => (Number.isNaN(v) ? 0 : v));
}

/** Most that the sideways shift may change from one sample to the next, search steps. */
const mostChange = 6;

/** What a change of shift by one search step costs, in units of merit. */
const changeCost = 0.04;

/**
 * The row of shifts with the greatest merit whose neighbours differ little (dynamic programming over samples): one
 * shaded edge beside the rails cannot pull single samples away.
 */
function smoothestShifts(merits: readonly Float64Array[], closed: boolean): number[] {
  const n = merits.length;
  const m = merits[0].length;
  // Closed lines are gone round once and a bit, so that the seam has neighbours too.
  const lap = closed ? Math.min(n, 25) : 0;
  const total = n + 2 * lap;
  const merit = (i: number): Float64Array => merits[(((i - lap) % n) + n) % n];
  const from: Int8Array[] = [];
  let best = Float64Array.from(merit(0));
  for (let i = 1; i < total; i++) {
    const own = merit(i);
    const next = new Float64Array(m).fill(Number.NEGATIVE_INFINITY);
    const back = new Int8Array(m);
    for (let q = 0; q < m; q++)
      for (let d = -mostChange; d <= mostChange; d++) {
        const p = q + d;
        if (p < 0 || p >= m) continue;
        const value = best[p] - changeCost * Math.abs(d);
        if (value > next[q]) {
          next[q] = value;
          back[q] = d;
        }
      }
    for (let q = 0; q < m; q++) next[q] += own[q];
    from.push(back);
    best = next;
  }
  let q = 0;
  for (let k = 1; k < m; k++) if (best[k] > best[q]) q = k;
  const path = new Array<number>(total);
  path[total - 1] = q;
  for (let i = total - 1; i > 0; i--) {
    q += from[i - 1][q];
    path[i - 1] = q;
  }
  return Array.from({ length: n }, (_, i) => (path[i + lap] - (m - 1) / 2) * searchStepMm);
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

/** How far one rail may stray from the three together, millimetres. */
const railReachMm = 1.25;

function measureRails(raster: Raster, camera: Camera, track: TrackProfile, place: Place): TraceSample {
  const profile = profileAcross(raster, camera, track, place);
  const look = railLook(track, viewSlopeAcross(camera, place, track.railTopMm));
  const sideways: [number, number, number] = [Number.NaN, Number.NaN, Number.NaN];
  for (const { rail, offsetMm } of railOffsets(track)) {
    const merit = railMerit(profile, offsetMm, look, railReachMm);
    if (merit.some((v) => Number.isNaN(v))) continue;
    const at = peak(merit);
    const n = merit.length;
    if (at < 1 || at > n - 2) continue;
    if (merit[Math.round(at)] < 0.06 * look.edges.length + 0.04) continue;
    sideways[rail + 1] = (at - (n - 1) / 2) * searchStepMm;
  }
  return { x: place.x, y: place.y, headingRad: place.headingRad, sidewaysMm: sideways };
}
