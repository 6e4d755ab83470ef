import type { Camera } from '../geometry/camera.js';
import type { MarkerDetection } from '../scene/marker-detection.js';
import type { Photo } from '../scene/photo.js';
import type { RailTrace } from '../scene/rail-trace.js';
import type { TableEdge } from '../scene/table-edge.js';
import { outsideFaceOffsetMm, type TrackProfile } from '../scene/track-profile.js';
import { edgeOfSides, measureSide, type TableEdgeInput } from '../stages/table-edge/find-table-edge.js';
import type { HandCorrections } from './apply-corrections.js';
import type { SecondThread } from './second-thread.js';

/** The edge of the table as one photo shows it. */
export interface EdgeInPhoto {
  readonly photo: number;
  readonly edge: TableEdge;
}

type Reduced = TableEdgeInput['reduced'];

/** A photo reduced in the second thread; missing until that is done. */
export interface ReducedBeside {
  photo?: Reduced;
}

/** Reduces a photo beforehand, while the first thread does something else. */
export function reduceBeside(thread: SecondThread, { raster }: Photo, signal?: AbortSignal): ReducedBeside {
  const beside: ReducedBeside = {};
  const keep = (photo: Reduced): void => {
    beside.photo = photo;
  };
  // Should it fail, the search for the edge reduces the photo itself, and fails alike.
  thread.run('reduce-photo', raster, signal).then(keep, () => {});
  return beside;
}

/** One photo with what is known of it so far. */
export interface SeenPhoto {
  readonly photo: Photo;
  readonly index: number;
  readonly camera: Camera;
  readonly markers: readonly MarkerDetection[];
  readonly reduced: Reduced;
}

/**
 * Looks for the edge of the table in one photo, in the second thread, which then measures every other side; the rest of
 * them, and an outline given by hand, are measured here. Null where no edge is seen.
 */
export async function lookForEdge(
  thread: SecondThread,
  { index, ...seen }: SeenPhoto,
  traces: readonly RailTrace[],
  track: TrackProfile,
  byHand: HandCorrections,
  signal?: AbortSignal,
): Promise<EdgeInPhoto | null> {
  const mine = traces.filter((t) => t.photo === index);
  const trackInTable = mine.flatMap((t) => t.samples.filter((_, i) => i % 3 === 0).map(({ x, y }) => ({ x, y })));
  const input = { ...seen, trackInTable, railTopMm: track.railTopMm, halfTrackMm: outsideFaceOffsetMm(track) };
  const given = byHand.edge(index, input, signal);
  if (given) return { photo: index, edge: given };
  const found = await thread.run('table-sides', input, signal);
  if (seen.reduced) void thread.run('give-back', [seen.reduced.tone, seen.reduced.look]);
  if (!found) return null;
  const { raster } = seen.photo;
  const { camera } = seen;
  // All that the other is to do is asked for before anything is done here.
  const theirs = found.sides.map((_, i) =>
    i % 2 === 0 ? thread.run('table-side', [raster, camera, found, i], signal) : null,
  );
  const sides = theirs.map((side, i) => side ?? measureSide(raster, camera, found, i));
  const edge = edgeOfSides(raster, camera, await Promise.all(sides));
  return edge && { photo: index, edge };
}
