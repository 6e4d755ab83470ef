import type { Camera } from '../geometry/camera.js';
import type { MarkerDetection } from '../scene/marker-detection.js';
import type { Photo } from '../scene/photo.js';
import type { RailTrace } from '../scene/rail-trace.js';
import type { TableEdge } from '../scene/table-edge.js';
import { outsideFaceOffsetMm, type TrackProfile } from '../scene/track-profile.js';
import type { TableEdgeInput } from '../stages/table-edge/find-table-edge.js';
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
 * Looks for the edge of the table in one photo, in the second thread; an outline given by hand is taken here and now.
 * Null where no edge is seen.
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
  const found = await thread.run('table-edge', input, signal);
  return found.ok ? { photo: index, edge: found.value } : null;
}
