import type { Raster } from '../../images/raster.js';
import { type EdgeCurve, type EdgePlace, placesOn } from './edge-places.js';
import { type EdgeProfile, emptyProfile, profileStepPx, sampleProfile, valuesAStep } from './edge-profile.js';
import type { LineProjector } from './table-lines.js';
import type { Covered } from './track-zone.js';

/** What lies across a curve, every `spacingPx` along it: sampled once, looked at for several things. */
export interface CurveProfiles {
  readonly curve: EdgeCurve;
  readonly places: readonly EdgePlace[];
  /** Of each place, averaged over the spacing along the curve. */
  readonly profiles: readonly EdgeProfile[];
}

/** Photo pixels between neighbouring places. */
export const spacingPx = 10;
/** Farthest that is looked at. */
const reachPx = 28;

export function profilesAcross(
  raster: Raster,
  projector: LineProjector,
  curve: EdgeCurve,
  covered: Covered,
): CurveProfiles {
  const places = placesOn(projector, curve, spacingPx, 6).filter(({ x, y }) => !covered(x, y));
  const profiles = places.map((place) => {
    const profile = emptyProfile(reachPx);
    sampleProfile(raster, place.x, place.y, place.nx, place.ny, spacingPx, profile);
    return profile;
  });
  return { curve, places, profiles };
}

/** The middle of a profile, as far as `nearPx` to both sides; it shares its values. */
export function middleOf(profile: EdgeProfile, nearPx: number): EdgeProfile {
  const skipped = Math.round((profile.reachPx - nearPx) / profileStepPx);
  const count = profile.count - 2 * skipped;
  const values = profile.values.subarray(valuesAStep * skipped, valuesAStep * (skipped + count));
  return { reachPx: nearPx, count, values, px: profile.px, py: profile.py };
}
