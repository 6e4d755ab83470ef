import type { Camera } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import { middleOf } from '../../linalg/middle.js';
import type { LightPlace } from '../../scene/rail-trace.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { angleAcross, looksAt, type Place, profileAcross, searchStepMm } from './rail-merit.js';

/** A light that stands lower than this, seen along the rail, shines on all of the flange on its side. */
const slantRad = 0.4;

/**
 * Flanges that show less of their width than this are not looked at; this much is left out along their borders, and between
 * the halves near the head and near the edge.
 */
const leastWidthMm = 1.2;
const rimMm = 0.3;
const halvesApartMm = 0.2;

/**
 * How bright the flanges on the side of a light are near the head, over how bright they are near their edge (middle of all,
 * root brightness). The head stands between the light and the other flange only: clearly less than 1 speaks against the
 * light. Null where the light stands too high to tell, or the flange shows at fewer places than leastPlaces.
 */
export function litFlanges(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  light: LightPlace,
  places: readonly Place[],
  leastPlaces: number,
): number | null {
  const ratios: number[] = [];
  let count = 0;
  for (const place of places) {
    const lightRad = angleAcross(light, place, track.railTopMm);
    if (Math.abs(lightRad) < slantRad) continue;
    const side = Math.sign(lightRad);
    const shown = looksAt(camera, track, place, light).flatMap((rail) => {
      const { edges, headHalfMm } = rail.look;
      const edge = edges.find((e) => side * e.offsetMm > headHalfMm + leastWidthMm);
      return edge ? [{ ...rail, innerMm: headHalfMm + rimMm, outerMm: Math.abs(edge.offsetMm) - rimMm }] : [];
    });
    if (shown.length === 0) continue;
    count++;
    const { level } = profileAcross(raster, camera, track, place, shown, 0);
    for (const { offsetMm, innerMm, outerMm } of shown) {
      const middleMm = (innerMm + outerMm) / 2;
      const meanOf = (fromMm: number, toMm: number): number => meanLevel(level, offsetMm, side, fromMm, toMm);
      const ratio = meanOf(innerMm, middleMm - halvesApartMm / 2) / meanOf(middleMm + halvesApartMm / 2, outerMm);
      if (Number.isFinite(ratio)) ratios.push(ratio);
    }
  }
  return count < leastPlaces || ratios.length === 0 ? null : middleOf(Float64Array.from(ratios));
}

/** Mean level from one distance to another on one side of a rail's axis. */
function meanLevel(level: Float64Array, offsetMm: number, side: number, fromMm: number, toMm: number): number {
  let sum = 0;
  let count = 0;
  for (let mm = fromMm; count === 0 || mm <= toMm; mm += searchStepMm, count++)
    sum += level[Math.round((offsetMm + side * mm) / searchStepMm) + (level.length - 1) / 2];
  return sum / count;
}
