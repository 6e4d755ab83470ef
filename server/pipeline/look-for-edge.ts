import type { Camera } from '../geometry/camera.js';
import type { MarkerDetection } from '../scene/marker-detection.js';
import type { Photo } from '../scene/photo.js';
import type { RailTrace } from '../scene/rail-trace.js';
import type { TableEdge } from '../scene/table-edge.js';
import { outsideFaceOffsetMm, type TrackProfile } from '../scene/track-profile.js';
import type { HandCorrections } from './apply-corrections.js';
import type { SecondThread } from './second-thread.js';

/** The edge of the table as one photo shows it. */
export interface EdgeInPhoto {
  readonly photo: number;
  readonly edge: TableEdge;
}

/**
 * Looks for the edge of the table in one photo, in the second thread; an outline given by hand is taken here and now.
 * Null where no edge is seen.
 */
export async function lookForEdge(
  thread: SecondThread,
  photo: Photo,
  index: number,
  camera: Camera,
  markers: readonly MarkerDetection[],
  traces: readonly RailTrace[],
  track: TrackProfile,
  byHand: HandCorrections,
  signal?: AbortSignal,
): Promise<EdgeInPhoto | null> {
  const mine = traces.filter((t) => t.photo === index);
  const trackInTable = mine.flatMap((t) => t.samples.filter((_, i) => i % 3 === 0).map(({ x, y }) => ({ x, y })));
  const { railTopMm } = track;
  const input = { photo, camera, markers, trackInTable, railTopMm, halfTrackMm: outsideFaceOffsetMm(track) };
  const given = byHand.edge(index, input, signal);
  if (given) return { photo: index, edge: given };
  const found = await thread.run('table-edge', input, signal);
  return found.ok ? { photo: index, edge: found.value } : null;
}
