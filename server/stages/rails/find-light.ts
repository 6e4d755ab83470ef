import type { Camera } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import type { LightPlace } from '../../scene/rail-trace.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { railLook } from './rail-edges.js';
import { angleAcross, type Place, profileAcross, trackMerit, viewAngleAcross } from './rail-merit.js';

/** A window or a lamp far off, by its azimuth and its height above the horizon. */
const azimuths = 16;
const elevationsRad = [0.35, 0.6, 0.85, 1.15];
const farMm = 20000;

/** Places looked at, at most. */
const mostPlaces = 90;

/**
 * Finds where the light stands that the rails mirror: of lights all around and one overhead, the one with which the
 * rails' cross-sections fit best. It need not be exact: a crest shifts by half the angle that the light does.
 * @param places rough places of the track, off by reachMm at most
 */
export function findLight(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  places: readonly Place[],
  reachMm: number,
): LightPlace {
  const every = Math.max(1, Math.ceil(places.length / mostPlaces));
  const looked = places
    .filter((_, i) => i % every === 0)
    .map((place) => {
      const viewRad = viewAngleAcross(camera, place, track.railTopMm);
      return {
        place,
        viewRad,
        profile: profileAcross(raster, camera, track, place, railLook(track, viewRad, 0), reachMm),
      };
    });
  const middle = { x: 0, y: 0 };
  for (const { x, y } of places) {
    middle.x += x / places.length;
    middle.y += y / places.length;
  }
  let best: LightPlace = { ...middle, z: farMm };
  let bestSum = Number.NEGATIVE_INFINITY;
  for (const light of candidates(middle)) {
    let sum = 0;
    for (const { place, viewRad, profile } of looked) {
      const look = railLook(track, viewRad, angleAcross(light, place, track.railTopMm));
      sum += trackMerit(profile, track, look, reachMm).reduce((a, b) => Math.max(a, b), 0);
    }
    if (sum > bestSum) {
      best = light;
      bestSum = sum;
    }
  }
  return best;
}

function candidates(middle: { x: number; y: number }): LightPlace[] {
  const out: LightPlace[] = [{ ...middle, z: farMm }];
  for (const elevation of elevationsRad)
    for (let k = 0; k < azimuths; k++) {
      const azimuth = (2 * Math.PI * k) / azimuths;
      out.push({
        x: middle.x + farMm * Math.cos(elevation) * Math.cos(azimuth),
        y: middle.y + farMm * Math.cos(elevation) * Math.sin(azimuth),
        z: farMm * Math.sin(elevation),
      });
    }
  return out;
}
