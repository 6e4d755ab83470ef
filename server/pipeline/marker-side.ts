import { type Problem, problem } from '../contract/problems.js';
import type { Camera } from '../geometry/camera.js';
import { middleOf } from '../linalg/middle.js';
import type { Photo } from '../scene/photo.js';
import type { RailTrace } from '../scene/rail-trace.js';
import { scaledTrack, type TrackProfile } from '../scene/track-profile.js';
import { spacingSeen } from '../stages/rails/rail-spacing.js';

/** Where so few places of a photo are on track, it does not tell how far apart rails lie. */
const fewestPlaces = 12;
/** What several photos tell agrees this well. */
const agreeShare = 1.06;

/**
 * What is the matter where rails lie farther apart, or nearer, than they can: the marker's side was typed wrong, or another
 * track lies there. Null where they lie as they should, or it is not told.
 * @param traces of all photos, rails found at their own spacing
 * @param find rails of a track in all photos
 */
export async function railsMisfit(
  photos: readonly Photo[],
  cameras: readonly Camera[],
  { track, markerSideMm }: { readonly track: TrackProfile; readonly markerSideMm: number },
  traces: readonly RailTrace[],
  find: (track: TrackProfile) => Promise<RailTrace[]>,
): Promise<Problem | null> {
  const share =
    traces.length > 0
      ? spacingOff(photos, cameras, track, traces)
      : await spacingElsewhere(photos, cameras, { track, markerSideMm }, find);
  if (share === null) return null;
  return problem('rails-misfit', {
    name: photos.map((p) => p.name).join(', '),
    seenMm: share * track.gaugeMm,
    gaugeMm: track.gaugeMm,
    typedSideMm: markerSideMm,
    fittingSideMm: markerSideMm / share,
  });
}

/** How far apart the rails lie, over how far apart they should, where that cannot be; null where not all photos tell. */
function spacingOff(
  photos: readonly Photo[],
  cameras: readonly Camera[],
  track: TrackProfile,
  traces: readonly RailTrace[],
): number | null {
  const told: number[] = [];
  for (const [i, { raster }] of photos.entries()) {
    const places = traces.filter(({ photo }) => photo === i).flatMap(({ samples }) => samples);
    if (places.length < fewestPlaces) continue;
    const share = spacingSeen(raster, cameras[i], track, places);
    if (share === null) return null;
    told.push(share);
  }
  if (told.length === 0 || Math.max(...told) > agreeShare * Math.min(...told)) return null;
  return middleOf(Float64Array.from(told));
}

/** Spacings at which rails are looked for that were not found at their own; what lies between is found with the next. */
const sharesTried = [1.12, 0.89, 1.25, 0.8, 1.4, 0.71, 1.57, 0.64, 1.76, 0.57, 1.97, 0.51, 2.2, 0.45, 2.46, 0.41];
/** Markers on paper are no smaller and no larger than this. */
const printedMm = { least: 30, most: 300 };
/** So much track must be found to be any, of its own length; with so much it is not looked for any longer. */
const leastTrackMm = 400;
const plentyMm = 2500;

/** The same where no rails were found: at another spacing there may be some. */
async function spacingElsewhere(
  photos: readonly Photo[],
  cameras: readonly Camera[],
  { track, markerSideMm }: { readonly track: TrackProfile; readonly markerSideMm: number },
  find: (track: TrackProfile) => Promise<RailTrace[]>,
): Promise<number | null> {
  const { least, most } = printedMm;
  let best = { share: Number.NaN, foundMm: leastTrackMm };
  for (const tried of sharesTried) {
    if (markerSideMm / tried < least || markerSideMm / tried > most) continue;
    const looked = scaledTrack(track, tried);
    const traces = await find(looked);
    const foundMm = traces.reduce((sum, { samples, stepMm }) => sum + samples.length * stepMm, 0) / tried;
    if (foundMm <= best.foundMm) continue;
    best = { share: tried * (spacingOff(photos, cameras, looked, traces) ?? 1), foundMm };
    if (foundMm > plentyMm) break;
  }
  return Number.isNaN(best.share) ? null : best.share;
}
