import { type Camera, cameraCentreInTable } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import { parabolaSize, projectParabola, sampleParabola } from '../../images/sample-parabola.js';
import type { LightPlace } from '../../scene/rail-trace.js';
import { railOffsets, type TrackProfile } from '../../scene/track-profile.js';
import { type RailLook, railLook } from './rail-edges.js';

/** A place on a centre line, table frame. */
export interface Place {
  readonly x: number;
  readonly y: number;
  readonly headingRad: number;
  /** How far left of where the light puts them the heads' crests are seen, millimetres; missing where that is not told. */
  readonly crestAsideMm?: number;
}

/** One rail of the track, offsetMm left of the centre line, and how it looks. */
export interface LookOfRail {
  readonly rail: -1 | 0 | 1;
  readonly offsetMm: number;
  readonly look: RailLook;
}

/** Step in which sideways shifts are tried. */
export const searchStepMm = 0.125;

/** Samples across the track are twice as far apart; between them values are interpolated once, at the search step. */
const sampleStepMm = 2 * searchStepMm;

/** Brightness across the track at one place, at search steps, the middle at index (length − 1) / 2. */
export interface AcrossProfile {
  /** Root of linear brightness, so that a glaring crest does not outvote the rest; NaN outside the photo. */
  readonly level: Float64Array;
  /** Its absolute change over three quarters of a millimetre, limited. */
  readonly slope: Float64Array;
}

/** A step brighter than this counts no more than it: one glaring edge must not outvote the others. */
const greatestStep = 0.4;

/** Half the width of a profile in which all rails, looking so, can be shifted by reachMm. */
function halfWidthMm(looks: readonly LookOfRail[], reachMm: number): number {
  const far = looks.map(({ offsetMm, look }) => Math.max(...look.edges.map((e) => Math.abs(offsetMm + e.offsetMm))));
  return Math.max(...far) + reachMm + 1;
}

/** Lines across the track that are averaged: so many, over this length of track. */
const lineCount = 4;
const lineSpanMm = 9;

/** @param reachMm the profile is wide enough to shift all rails by this much */
export function profileAcross(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  place: Place,
  looks: readonly LookOfRail[],
  reachMm: number,
): AcrossProfile {
  const half = halfWidthMm(looks, reachMm);
  const count = 2 * Math.ceil(half / sampleStepMm) + 1;
  const rows = rowsAcross(raster, camera, track, place, count);
  const level = new Float64Array(2 * count - 1);
  for (let k = 0; k < count; k++) {
    let sum = 0;
    for (let line = 0; line < lineCount; line++) sum += rows[k + line * count];
    level[2 * k] = Math.sqrt(Math.max(0, sum / lineCount));
  }
  const slope = new Float64Array(2 * count - 1).fill(Number.NaN);
  for (let k = 4; k < slope.length - 4; k += 2)
    slope[k] = Math.min(greatestStep, Math.abs(level[k + 2] + 0.5 * level[k + 4] - level[k - 2] - 0.5 * level[k - 4]));
  for (let k = 1; k < slope.length; k += 2) {
    level[k] = (level[k - 1] + level[k + 1]) / 2;
    slope[k] = (slope[k - 1] + slope[k + 1]) / 2;
  }
  return { level, slope };
}

/** Room for the lines of one profile, used again and again. */
let lineRoom = new Float32Array(0);
const parabola = new Float64Array(3 * parabolaSize);

/** Linear-light brightness along the lines across the track at one place, one line after the other. */
function rowsAcross(raster: Raster, camera: Camera, track: TrackProfile, place: Place, count: number): Float32Array {
  const heightMm = track.railTopMm - track.headWidthMm / 2;
  if (lineRoom.length < lineCount * count) lineRoom = new Float32Array(lineCount * count);
  const half = ((count - 1) * sampleStepMm) / 2;
  const [c, s] = [Math.cos(place.headingRad), Math.sin(place.headingRad)];
  // Between the first line and the last one the others lie evenly, in the photo too.
  const end = lineSpanMm / 2;
  projectParabola(camera, place.x - end * c, place.y - end * s, -half * s, half * c, heightMm, parabola, 0);
  projectParabola(camera, place.x + end * c, place.y + end * s, -half * s, half * c, heightMm, parabola, parabolaSize);
  const between = parabola.subarray(2 * parabolaSize);
  for (let line = 0; line < lineCount; line++) {
    const part = line / (lineCount - 1);
    for (let i = 0; i < parabolaSize; i++) between[i] = parabola[i] + part * (parabola[parabolaSize + i] - parabola[i]);
    sampleParabola(raster, between, count, lineRoom, line * count);
  }
  return lineRoom;
}

/**
 * How all rails look at one place: the eye sees one more aslant than the next.
 * @param light null where it is not known: the crests are where a light beside the eye would put them
 */
export function looksAt(camera: Camera, track: TrackProfile, place: Place, light: LightPlace | null): LookOfRail[] {
  const [x, y, z] = cameraCentreInTable(camera.cameraFromTable);
  return railOffsets(track).map(({ rail, offsetMm }) => {
    const at = {
      x: place.x - offsetMm * Math.sin(place.headingRad),
      y: place.y + offsetMm * Math.cos(place.headingRad),
      headingRad: place.headingRad,
    };
    const viewRad = angleAcross({ x, y, z }, at, track.railTopMm);
    const lightRad = light ? angleAcross(light, at, track.railTopMm) : viewRad;
    return { rail, offsetMm, look: railLook(track, viewRad, lightRad, place.crestAsideMm) };
  });
}

/** Slant of the view at a place against the vertical, seen along the heading, left positive. */
export function viewAngleAcross(camera: Camera, place: Place, heightMm: number): number {
  const [x, y, z] = cameraCentreInTable(camera.cameraFromTable);
  return angleAcross({ x, y, z }, place, heightMm);
}

/** Slant of the direction to a point against the vertical, seen along the heading, left positive. */
export function angleAcross(
  to: { readonly x: number; readonly y: number; readonly z: number },
  place: Place,
  heightMm: number,
): number {
  const dx = to.x - place.x;
  const dy = to.y - place.y;
  return Math.atan2(-dx * Math.sin(place.headingRad) + dy * Math.cos(place.headingRad), to.z - heightMm);
}

/** Where the first of n shifts is read in a row of values, offsetMm from their middle: whole steps. The rest is a share. */
function firstStep(values: Float64Array, n: number, offsetMm: number): number {
  return offsetMm / searchStepMm + (values.length - 1) / 2 - (n - 1) / 2;
}

/** Value at whole + part steps, linear between the steps. */
function between(values: Float64Array, whole: number, part: number): number {
  const a = values[whole];
  return a + part * (values[whole + 1] - a);
}

/** Flanks are looked at this far from the crest to each side of the tube, and no nearer than half the crest's width. */
const flankShare = 0.55;
const leastFlankMm = 1.2;

/**
 * What a bright crest counts: most up to a limit, and a little without, so that a broad one still has a middle. These
 * and the weights of the edges were fitted to 45 rendered photos with known rails, each half checked by the other.
 */
const crestWeight = 2.5;
const crestLimits = [-0.3, 0.35] as const;
const crestWeightUnlimited = 0.3;

/**
 * How well one rail's edges fit, for each shift from −reach to +reach: the changes of brightness where its edges would
 * be, and the crest of the head being brighter than its flanks (a tube mirrors the light there, and the dark room
 * elsewhere). NaN where the profile leaves the photo.
 */
export function railMerit(profile: AcrossProfile, offsetMm: number, look: RailLook, reachMm: number): Float64Array {
  const out = new Float64Array(shiftCount(reachMm));
  fillRailMerit(out, profile, offsetMm, look);
  return out;
}

/** Shifts that are tried from −reach to +reach. */
export function shiftCount(reachMm: number): number {
  return 2 * Math.round(reachMm / searchStepMm) + 1;
}

/** Adds weight · values, read from offsetMm off the middle on, to out: one place for each shift from −reach to +reach. */
export function addShifted(out: Float64Array, values: Float64Array, offsetMm: number, weight: number): void {
  const q = firstStep(values, out.length, offsetMm);
  const k = Math.floor(q);
  for (let i = 0; i < out.length; i++) out[i] += weight * between(values, k + i, q - k);
}

function fillRailMerit(out: Float64Array, profile: AcrossProfile, offsetMm: number, look: RailLook): void {
  const { level, slope } = profile;
  const n = out.length;
  out.fill(0);
  for (const edge of look.edges) addShifted(out, slope, offsetMm + edge.offsetMm, edge.weight);
  const flank = (side: -1 | 1): number => {
    const room = side * (side * look.headHalfMm - look.crestMm);
    return firstStep(level, n, offsetMm + look.crestMm + side * Math.max(leastFlankMm, flankShare * room));
  };
  const c0 = firstStep(level, n, offsetMm + look.crestMm - 0.5);
  const c1 = firstStep(level, n, offsetMm + look.crestMm);
  const c2 = firstStep(level, n, offsetMm + look.crestMm + 0.5);
  const l = flank(1);
  const r = flank(-1);
  const k0 = Math.floor(c0);
  const k1 = Math.floor(c1);
  const k2 = Math.floor(c2);
  const kl = Math.floor(l);
  const kr = Math.floor(r);
  const third = 1 / 3;
  for (let i = 0; i < n; i++) {
    const crest =
      third * between(level, k0 + i, c0 - k0) +
      third * between(level, k1 + i, c1 - k1) +
      third * between(level, k2 + i, c2 - k2);
    const a = crest - between(level, kl + i, l - kl);
    const b = crest - between(level, kr + i, r - kr);
    const rise = Math.min(a, b) + 0.25 * Math.max(a, b);
    out[i] += crestWeight * Math.max(crestLimits[0], Math.min(crestLimits[1], rise)) + crestWeightUnlimited * rise;
  }
}

/** The merit of all rails together for each shift that `total` has room for; 0 where it is not known. */
export function fillTrackMerit(total: Float64Array, profile: AcrossProfile, looks: readonly LookOfRail[]): void {
  const n = total.length;
  if (oneRail.length !== n) oneRail = new Float64Array(n);
  total.fill(0);
  for (const { offsetMm, look } of looks) {
    fillRailMerit(oneRail, profile, offsetMm, look);
    for (let i = 0; i < n; i++) total[i] += oneRail[i];
  }
  for (let i = 0; i < n; i++) if (Number.isNaN(total[i])) total[i] = 0;
}

/** Room for the merit of one rail, used again and again. */
let oneRail = new Float64Array(0);
