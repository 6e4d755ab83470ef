import type { Camera } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import type { LightPlace } from '../../scene/rail-trace.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import {
  fillTrackMerit,
  looksAt,
  type Place,
  profileAcross,
  railMerit,
  searchStepMm,
  shiftCount,
} from './rail-merit.js';

/** What is asked of places on a line. */
export interface PlacesAsked {
  readonly raster: Raster;
  readonly camera: Camera;
  readonly track: TrackProfile;
  readonly light: LightPlace;
  readonly places: readonly Place[];
  readonly reachMm: number;
  /**
   * Takes what is found, in memory that several threads see: `shiftCount(reachMm)` numbers for each place in `fillMerits`,
   * three in `fillRails`.
   */
  readonly out: Float64Array;
}

/** The merit of all rails together for each shift, at each place. */
export function fillMerits(asked: PlacesAsked, from: number, to: number): void {
  const { raster, camera, track, light, places, reachMm, out } = asked;
  const n = shiftCount(reachMm);
  for (let i = from; i < to; i++) {
    const looks = looksAt(camera, track, places[i], light);
    const profile = profileAcross(raster, camera, track, places[i], looks, reachMm);
    fillTrackMerit(out.subarray(i * n, (i + 1) * n), profile, looks);
  }
}

/** How far sideways of each place its rails lie, NaN where they are not seen. */
export function fillRails(asked: PlacesAsked, from: number, to: number): void {
  const { raster, camera, track, light, places, reachMm, out } = asked;
  out.fill(Number.NaN, 3 * from, 3 * to);
  for (let i = from; i < to; i++) {
    const looks = looksAt(camera, track, places[i], light);
    const profile = profileAcross(raster, camera, track, places[i], looks, reachMm);
    for (const { rail, offsetMm, look } of looks) {
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
