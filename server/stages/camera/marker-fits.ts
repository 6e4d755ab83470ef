import { type Camera, tableFromPhotoAtHeight } from '../../geometry/camera.js';
import { markerCornerInTable, type PlacedMarker } from '../../scene/placed-marker.js';
import type { AdjustmentOutput, MarkerObservation } from './adjustment.js';
import type { StartCamera } from './start-camera.js';

/** One sheet as one photo shows it, the camera given. */
export interface MarkerFit {
  readonly photo: number;
  readonly placed: PlacedMarker;
  /** Root mean square distance of the corners from the best flat square, in x and y each, on the table. */
  readonly rmsMm: number;
}

/** Lays one flat square of a known side under the corners that a photo shows: three unknowns, least squares on the table. */
export function fitMarker(camera: Camera, seen: MarkerObservation, id: number, sideMm: number): MarkerFit {
  const own = [0, 1, 2, 3].map((k) => markerCornerInTable({ x: 0, y: 0, turnRad: 0 }, sideMm, k));
  const corners = seen.cornersPx.map(([u, v]) => tableFromPhotoAtHeight(camera, u, v, 0));
  const x = corners.reduce((sum, p) => sum + p.x, 0) / 4;
  const y = corners.reduce((sum, p) => sum + p.y, 0) / 4;
  let along = 0;
  let across = 0;
  corners.forEach((p, k) => {
    along += own[k][0] * (p.x - x) + own[k][1] * (p.y - y);
    across += own[k][0] * (p.y - y) - own[k][1] * (p.x - x);
  });
  const placed = { id, x, y, turnRad: Math.atan2(across, along) };
  let sum = 0;
  corners.forEach((p, k) => {
    const [cx, cy] = markerCornerInTable(placed, sideMm, k);
    sum += (p.x - cx) ** 2 + (p.y - cy) ** 2;
  });
  return { photo: seen.photo, placed, rmsMm: Math.sqrt(sum / 8) };
}

/**
 * How far each marker's corners stay from where the whole adjustment wants them: root mean square over all photos in
 * units of sigma. Near 1 or below for sheets that lie flat and still.
 */
export function markerMisfits(output: AdjustmentOutput, observations: readonly MarkerObservation[]): number[] {
  const sum = output.state.markers.map(() => 0);
  const count = output.state.markers.map(() => 0);
  output.markerResidualsPx.forEach((r, i) => {
    const seen = observations[i >> 3];
    sum[seen.marker] += (r / seen.sigmaPx) ** 2;
    count[seen.marker]++;
  });
  return sum.map((s, i) => Math.sqrt(s / Math.max(1, count[i])));
}

/** The start without one marker: neither placed nor observed. */
export function withoutMarker<S extends Pick<StartCamera, 'state' | 'markerObservations'>>(
  start: S,
  marker: number,
): S {
  return {
    ...start,
    state: { ...start.state, markers: start.state.markers.filter((_, i) => i !== marker) },
    markerObservations: start.markerObservations
      .filter((o) => o.marker !== marker)
      .map((o) => (o.marker > marker ? { ...o, marker: o.marker - 1 } : o)),
  };
}
