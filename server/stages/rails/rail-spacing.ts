import type { Camera } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import { outerHeadOffsetMm, type TrackProfile } from '../../scene/track-profile.js';
import { looksAt, type Place, profileAcross, searchStepMm } from './rail-merit.js';

/** Spacings tried, as shares of what the track has: from one to the other, each so much more than the one before. */
const shares = { from: 0.45, to: 2.15, step: 1.01 };

/** A crest is brighter than what lies this far from it on both sides, and counts no more than this (root brightness). */
const besideMm = 1.5;
const mostRise = 0.35;

/** How far to each side of the places three rails may lie, beyond their own width. */
const reachMm = 30;

/** Another spacing shows so much more plainly than the track's own, which made track keeps to this share of it. */
const timesOwn = 1.25;
const ownShare = 0.03;
/** Three crests that rise less than this, on average, are none. */
const leastRise = 0.03;
const mostPlaces = 80;

/**
 * How far apart three rails lie, over how far apart they should: crests that lie evenly are looked for across the track at
 * many places, whatever their spacing. Null where the track's own spacing shows as plainly as any other, where none shows,
 * and of two rails, which anything may seem to be.
 * @param places near the track, table frame
 */
export function spacingSeen(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  places: readonly Place[],
): number | null {
  if (track.railCount !== 3 || places.length === 0) return null;
  const every = Math.ceil(places.length / mostPlaces);
  const own = outerHeadOffsetMm(track);
  const tried = Math.ceil(Math.log(shares.to / shares.from) / Math.log(shares.step));
  const share = (k: number): number => shares.from * shares.step ** k;
  const rises = places
    .filter((_, i) => i % every === 0)
    .map((place) =>
      crestsIn(profileAcross(raster, camera, track, place, looksAt(camera, track, place, null), reachMm).level),
    );
  const shown = (k: number): number =>
    rises.reduce((sum, rise) => sum + threeApart(rise, Math.round((share(k) * own) / searchStepMm)), 0) / rises.length;
  const all = Array.from({ length: tried }, (_, k) => k);
  const ownShown = Math.max(...all.filter((k) => Math.abs(share(k) - 1) < ownShare).map(shown));
  // No other spacing can show more plainly by so much.
  if (timesOwn * ownShown > mostRise) return null;
  const each = all.map(shown);
  const most = Math.max(...each);
  return most > timesOwn * ownShown && most > leastRise ? share(each.indexOf(most)) : null;
}

/** How far each place rises above both sides, 0 where it does not or is not known. */
function crestsIn(level: Float64Array): Float64Array {
  const beside = Math.round(besideMm / searchStepMm);
  return level.map((v, i) => {
    const rise = Math.min(v - level[i - beside], v - level[i + beside]);
    return rise > 0 ? Math.min(mostRise, rise) : 0;
  });
}

/** The most that the least of three places so many steps apart rises. */
function threeApart(rise: Float64Array, steps: number): number {
  let most = 0;
  for (let i = steps; i + steps < rise.length; i++)
    if (rise[i] > most) most = Math.max(most, Math.min(rise[i], rise[i - steps], rise[i + steps]));
  return most;
}
