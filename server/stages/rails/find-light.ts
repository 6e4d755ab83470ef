import type { Camera } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import { middleOf } from '../../linalg/middle.js';
import type { LightPlace } from '../../scene/rail-trace.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { litFlanges } from './lit-flanges.js';
import { crestOffsetMm } from './rail-edges.js';
import { angleAcross, fillTrackMerit, looksAt, type Place, profileAcross, shiftCount } from './rail-merit.js';
import { crestReachMm, type FollowedLine, type SeenCrest, samplesBetweenCrests } from './seen-crests.js';

/** A window or a lamp far off, by its height above the horizon; a lamp over the table or beside it, by its height. */
const elevationsRad = [0.35, 0.6, 0.85, 1.1, 1.3];
const azimuths = 16;
const farMm = 20000;
const lampHeightsMm = [900, 1400, 2200];
const lampReachMm = 1200;
const lampStepMm = 400;

/** Scatter of a crest's place against the edges, millimetres; places that are farther off hardly count. */
const crestScatterMm = 0.35;

/** Fewer places than this do not tell where the light stands. */
const leastPlaces = 12;

type Spot = { readonly x: number; readonly y: number };

export interface FoundLight {
  readonly light: LightPlace;
  /** Whether the edges that crests were measured against are the rails' own, as far as the light found tells. */
  readonly tellsCrests: boolean;
}

/**
 * Finds where the light stands that the rails mirror: at many places the crest of the heads is measured against the
 * flanges' edges, which do not move with the light, and of lights far and near the one is taken with which most crests
 * lie where a tube mirrors it. One overhead where too few places tell, or where the track looks no more like itself in
 * the light found, or is in the shade where that light should shine: rust, and the shadow that a rail casts, pass for the
 * flange's edges, and all crests seem to lie beside.
 * @param lines places of the track stepwise along each run, no farther off than crestReachMm
 * @param crests seen at some of them
 */
export function findLight(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  lines: readonly FollowedLine[],
  crests: readonly SeenCrest[],
): FoundLight {
  const places = lines.flatMap((l) => l.samples);
  const overhead = lightOverhead(places);
  if (crests.length < leastPlaces) return { light: overhead, tellsCrests: false };
  let best: LightPlace = overhead;
  let least = Number.POSITIVE_INFINITY;
  for (const light of candidates(overhead)) {
    let sum = 0;
    for (const crest of crests)
      sum += Math.log1p(((crest.choices[0].crestMm - crestInLight(track, light, crest)) / crestScatterMm) ** 2);
    if (sum >= least) continue;
    best = light;
    least = sum;
  }
  if (least > mostMisfit * crests.length) return { light: overhead, tellsCrests: false };
  if (best === overhead) return { light: overhead, tellsCrests: true };
  const every = samplesBetweenCrests(lines);
  const told = places.filter((_, i) => i % every === 0);
  const lit = litFlanges(raster, camera, track, best, told, leastPlaces);
  const moves = crests.map((c) => Math.abs(crestInLight(track, best, c) - crestInLight(track, overhead, c)));
  const movedMm = middleOf(Float64Array.from(moves));
  const [fits, overheadFits] = fitsIn([best, overhead], raster, camera, track, told);
  const gain = fits / overheadFits;
  if (lit !== null && lit < leastLitFor(movedMm, least / crests.length, gain))
    return { light: overhead, tellsCrests: false };
  return { light: gain < leastGain ? overhead : best, tellsCrests: true };
}

/** Where a light puts a crest, millimetres left of the axis. */
export function crestInLight(track: TrackProfile, light: LightPlace, { place, viewRad }: SeenCrest): number {
  return crestOffsetMm(track, viewRad, angleAcross(light, place, track.railTopMm));
}

/**
 * A light with which most crests still lie half a millimetre and more beside where a tube would mirror it is none: mean of
 * the logarithms above. Of forty drawn photos in which a light fitted better it was up to 1.0 where that bettered the rails, and
 * 1.2 and more in three in which the crests were measured against other edges; in one of them rails lay 1.2 mm aside.
 */
const mostMisfit = 1.1;

/**
 * The light found must make the cross-sections fit better by this: of 47 rendered photos with known rails it was found
 * elsewhere than overhead in twelve. Nine passed, one of them wrongly; with those that failed rails lay up to 0.3 mm
 * farther off.
 */
const leastGain = 1.02;

/**
 * A low light must shine on the flanges on its side, up to the heads: where a shadow's border passes for the edge of the
 * flange, the light seems to come from where the shadow falls. In seven drawn scenes in which a low light was found rightly
 * this was 0.98 to 1.08, in two more in which it bettered the rails 0.97; in three that it was found wrongly in, rails then
 * 0.5, 0.8 and 1.0 mm aside, 0.83, 0.68 and 0.96, in five in which it made nothing fit better 0.58 to 0.90.
 */
const leastLit = 0.966;
/** What shadows make of it moves the crests, and the rails, by more than this: a light that moves them less needs less proof. */
const slightMm = 0.45;
const leastLitSlightly = 0.9;
/**
 * So does one with which crests lie where a tube mirrors it at most places and cross-sections fit plainly better, if it moves
 * crests by no more than a low lamp does: of four such in 300 drawn photos three bettered the rails by 0.1 to 0.5 mm, and none
 * made all of them worse; seven that shadows made fit as well moved crests by 0.9 to 1.5 mm.
 */
const plainMisfit = 0.55;
const plainGain = 1.06;
const lampMm = 0.75;
const leastLitPlainly = 0.8;

function leastLitFor(movedMm: number, misfit: number, gain: number): number {
  if (misfit < plainMisfit && gain > plainGain && movedMm < lampMm) return leastLitPlainly;
  return movedMm < slightMm ? leastLitSlightly : leastLit;
}

/** How well cross-sections of the track fit what is seen at some places, in each light: the sum of the best merits. */
function fitsIn(
  lights: readonly LightPlace[],
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  places: readonly Place[],
): number[] {
  const sums = lights.map(() => 0);
  const merit = new Float64Array(shiftCount(crestReachMm));
  for (const place of places) {
    const looks = lights.map((light) => looksAt(camera, track, place, light));
    // The light changes nothing of how far the edges of a rail lie apart.
    const profile = profileAcross(raster, camera, track, place, looks[0], crestReachMm);
    looks.forEach((look, i) => {
      fillTrackMerit(merit, profile, look);
      sums[i] += Math.max(...merit);
    });
  }
  return sums;
}

/** The light that is taken before any is known: straight above. */
export function lightOverhead(places: readonly Spot[]): LightPlace {
  return { ...centreOf(places), z: farMm };
}

function centreOf(places: readonly Spot[]): { x: number; y: number } {
  const middle = { x: 0, y: 0 };
  for (const { x, y } of places) {
    middle.x += x / places.length;
    middle.y += y / places.length;
  }
  return middle;
}

function candidates(overhead: LightPlace): LightPlace[] {
  const out: LightPlace[] = [overhead];
  for (const elevation of elevationsRad)
    for (let k = 0; k < azimuths; k++) {
      const azimuth = (2 * Math.PI * k) / azimuths;
      out.push({
        x: overhead.x + farMm * Math.cos(elevation) * Math.cos(azimuth),
        y: overhead.y + farMm * Math.cos(elevation) * Math.sin(azimuth),
        z: farMm * Math.sin(elevation),
      });
    }
  for (const z of lampHeightsMm)
    for (let dx = -lampReachMm; dx <= lampReachMm; dx += lampStepMm)
      for (let dy = -lampReachMm; dy <= lampReachMm; dy += lampStepMm)
        out.push({ x: overhead.x + dx, y: overhead.y + dy, z });
  return out;
}
