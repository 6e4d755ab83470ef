import { throwIfCancelled } from '../../base/cancel.js';
import { failed, ok, type Result } from '../../base/result.js';
import { type Problem, problem } from '../../contract/problems.js';
import { type Camera, tableFromPhotoAtHeight } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import type { MarkerDetection } from '../../scene/marker-detection.js';
import type { Photo } from '../../scene/photo.js';
import type { TableCorner, TableEdge, TableSide } from '../../scene/table-edge.js';
import type { OutlineSide } from './choose-outline.js';
import { layersAt } from './edge-layers.js';
import { findEdgePoints } from './edge-points.js';
import { giveBackRoom } from './finish-model.js';
import type { OnTable } from './finish-places.js';
import { cornerBetween, fitTableLine } from './outline-geometry.js';
import { searchOutline } from './outline-search.js';
import { giveBackReduced, type ReducedPhoto, reducePhoto } from './reduced-photo.js';
import { straightenSides } from './straighten-sides.js';
import { trackDistance } from './track-zone.js';

export interface TableEdgeInput {
  readonly photo: Photo;
  /** May be only near the truth: focal length by 2 %, a lens model that bows edges by tens of pixels. */
  readonly camera: Camera;
  readonly markers: readonly MarkerDetection[];
  /** Centre line of the track at rail height, about every 20 mm, table frame; may be empty. */
  readonly trackInTable: readonly { readonly x: number; readonly y: number }[];
  readonly railTopMm: number;
  /** From the centre line to the outside face of an outer rail head. */
  readonly halfTrackMm: number;
  /** The photo as `reduceForEdge` makes it, where that was done beforehand; it is used up. */
  readonly reduced?: ReducedPhoto;
}

/** Longest side of the reduced picture in which edges are looked for, pixels. */
const reducedPx = 1080;

/** What the search needs of a photo before anything is known of it. */
export function reduceForEdge(raster: Raster): ReducedPhoto {
  return reducePhoto(raster, reducedPx);
}

export interface TableEdgeOptions {
  /** How many lines are followed. */
  readonly mostLines: number;
  /** A side that shows less than this share of its length is not reported. */
  readonly leastSeenRatio: number;
}

export const defaultTableEdgeOptions: TableEdgeOptions = { mostLines: 90, leastSeenRatio: 0.15 };

/**
 * Finds the upper edge of the table top in one photo, without any click.
 *
 * Edges are voted for as lines of the table frame on a reduced picture, followed as chains that may bow, weighed by what
 * lies inside (the finish around track and markers) and outside, combined to four sides a quarter turn apart of which
 * some may lie outside the picture, and measured on the full picture as blurred steps in linear light.
 *
 * @returns sides counter-clockwise; problem `no-table-edge` when none is seen
 */
export function findTableEdge(
  input: TableEdgeInput,
  options: TableEdgeOptions = defaultTableEdgeOptions,
  signal?: AbortSignal,
): Result<TableEdge, Problem> {
  const { photo, camera } = input;
  const { raster } = photo;
  const none = failed(problem('no-table-edge', { name: photo.name }));
  const on = onTable(input);
  if (on.markerCorners.length === 0 && on.track.length === 0) return none;
  const reduced = input.reduced ?? reduceForEdge(raster);
  throwIfCancelled(signal);
  const { sides: outline, finish, projector } = searchOutline(raster, camera, on, reduced, options.mostLines, signal);
  throwIfCancelled(signal);
  const sides: { side: TableSide; outline: OutlineSide }[] = [];
  const curves = straightenSides(
    raster,
    camera,
    projector,
    finish,
    trackDistance(camera, on),
    outline.map((o) => ({ line: o.path.line, shiftPx: o.path.shiftPx, fromMm: o.fromMm, toMm: o.toMm })),
  );
  curves.forEach((curve, i) => {
    throwIfCancelled(signal);
    const side = outline[i];
    const { points, seenRatio } = findEdgePoints(raster, projector, layersAt(raster, projector, finish, curve));
    if (points.length < 8 || seenRatio < options.leastSeenRatio) return;
    const lineInTable = fitTableLine(points, camera, side.path.line.thetaRad);
    const certainty = Math.max(0, Math.min(1, side.evidence / 0.5)) * Math.min(1, seenRatio / 0.5);
    sides.push({ side: { points, lineInTable, certainty, seenRatio }, outline: side });
  });
  giveBackRoom(finish);
  giveBackReduced(reduced);
  if (sides.length === 0) return none;
  const found = sides.map((s) => s.side);
  return ok({ sides: found, corners: cornersOf(found, camera, raster.widthPx, raster.heightPx) });
}

/** What surely lies on the table, in the form that the search for its edge works with. */
export function onTable(input: TableEdgeInput): OnTable {
  const { camera, markers } = input;
  return {
    markerCorners: markers.map((m) => m.cornersInPhoto.map((c) => tableFromPhotoAtHeight(camera, c.x, c.y, 0))),
    track: input.trackInTable,
    halfTrackMm: input.halfTrackMm,
    railTopMm: input.railTopMm,
  };
}

function cornersOf(sides: readonly TableSide[], camera: Camera, widthPx: number, heightPx: number): TableCorner[] {
  const corners: TableCorner[] = [];
  for (let i = 0; i < sides.length; i++) {
    const j = (i + 1) % sides.length;
    if (i === j) continue;
    const corner = cornerBetween(sides[i].lineInTable, sides[j].lineInTable, camera, widthPx, heightPx);
    if (corner) corners.push({ ...corner, sides: [i, j] });
  }
  return corners;
}
