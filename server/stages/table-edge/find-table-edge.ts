import { throwIfCancelled } from '../../base/cancel.js';
import { failed, ok, type Result } from '../../base/result.js';
import { type Problem, problem } from '../../contract/problems.js';
import { type Camera, tableFromPhotoAtHeight } from '../../geometry/camera.js';
import { tablePoint } from '../../geometry/frames.js';
import type { MarkerDetection } from '../../scene/marker-detection.js';
import type { Photo } from '../../scene/photo.js';
import type { TableCorner, TableEdge, TableSide } from '../../scene/table-edge.js';
import { chooseOutline, type OutlineSide, type WeighedPath, weighPath, withoutTwins } from './choose-outline.js';
import { layersAt } from './edge-layers.js';
import { alongMm } from './edge-places.js';
import { findEdgePoints } from './edge-points.js';
import { learnFinish } from './finish-model.js';
import { barePlaces, middleOf, type OnTable, reachOf } from './finish-places.js';
import { proposeLines } from './line-votes.js';
import { cornerBetween, fitTableLine } from './outline-geometry.js';
import { evaluatePolynomial } from './polynomial.js';
import { reducePhoto } from './reduced-photo.js';
import { followSide, type SidePath } from './side-path.js';
import { straightenSides } from './straighten-sides.js';
import { LineProjector } from './table-lines.js';

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
}

export interface TableEdgeOptions {
  /** Longest side of the reduced picture in which edges are looked for, pixels. */
  readonly reducedPx: number;
  /** How many lines are followed. */
  readonly mostLines: number;
  /** A side that shows less than this share of its length is not reported. */
  readonly leastSeenRatio: number;
}

export const defaultTableEdgeOptions: TableEdgeOptions = { reducedPx: 1080, mostLines: 90, leastSeenRatio: 0.15 };

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
  const longest = Math.max(raster.widthPx, raster.heightPx);
  const reduced = reducePhoto(raster, Math.max(1, Math.round(longest / options.reducedPx)));
  throwIfCancelled(signal);
  const finish = learnFinish(reduced, barePlaces(camera, reduced, on));
  const middle = middleOf(on);
  const origin = tablePoint(middle.x, middle.y);
  const reach = reachOf(on, origin);
  const lines = proposeLines(camera, reduced, finish, origin, (t) => reach(t) - 25, options.mostLines);
  throwIfCancelled(signal);
  const projector = new LineProjector(camera, origin, raster.widthPx, raster.heightPx);
  const paths: WeighedPath[] = [];
  for (const line of lines) {
    const path = followSide(projector, reduced, finish, line);
    if (path && enclosesTrack(path, on, origin, camera)) paths.push(weighPath(path, mmPerPx(path, camera, origin)));
  }
  const outline = chooseOutline(withoutTwins(paths));
  throwIfCancelled(signal);
  const sides: { side: TableSide; outline: OutlineSide }[] = [];
  const curves = straightenSides(
    raster,
    camera,
    projector,
    finish,
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
  if (sides.length === 0) return none;
  return ok({ sides: sides.map((s) => s.side), corners: cornersOf(sides, camera, raster.widthPx, raster.heightPx) });
}

function onTable(input: TableEdgeInput): OnTable {
  const { camera, markers } = input;
  return {
    markerCorners: markers.map((m) => m.cornersInPhoto.map((c) => tableFromPhotoAtHeight(camera, c.x, c.y, 0))),
    track: input.trackInTable,
    halfTrackMm: input.halfTrackMm,
  };
}

/** Millimetres at z = 0 square to the path for a photo pixel, in the middle of the path. */
function mmPerPx(path: SidePath, camera: Camera, origin: { x: number; y: number }): number {
  const { px, py, nx, ny, count } = path.inPhoto;
  const i = count >> 1;
  const a = tableFromPhotoAtHeight(camera, px[i], py[i], 0);
  const b = tableFromPhotoAtHeight(camera, px[i] + nx[i], py[i] + ny[i], 0);
  const c = Math.cos(path.line.thetaRad);
  const s = Math.sin(path.line.thetaRad);
  return Math.abs((b.x - a.x) * c + (b.y - a.y) * s) || Math.hypot(a.x - origin.x, 1);
}

/** All markers and all but a few places of the track must lie inside the path. */
function enclosesTrack(path: SidePath, on: OnTable, origin: { x: number; y: number }, camera: Camera): boolean {
  const c = Math.cos(path.line.thetaRad);
  const s = Math.sin(path.line.thetaRad);
  const scale = mmPerPx(path, camera, origin);
  const { sMm, count } = path.inPhoto;
  const outside = (x: number, y: number): number => {
    const along = Math.min(sMm[count - 1], Math.max(sMm[0], -(x - origin.x) * s + (y - origin.y) * c));
    const shift = evaluatePolynomial(path.shiftPx, along / alongMm) * scale;
    return (x - origin.x) * c + (y - origin.y) * s - path.line.rhoMm - shift;
  };
  const toleranceMm = 3;
  if (on.markerCorners.some((corners) => corners.some((p) => outside(p.x, p.y) > toleranceMm))) return false;
  const beyond = on.track.filter((p) => outside(p.x, p.y) + on.halfTrackMm > toleranceMm).length;
  return beyond <= 0.02 * on.track.length;
}

function cornersOf(
  sides: readonly { side: TableSide; outline: OutlineSide }[],
  camera: Camera,
  widthPx: number,
  heightPx: number,
): TableCorner[] {
  const corners: TableCorner[] = [];
  for (let i = 0; i < sides.length; i++) {
    const j = (i + 1) % sides.length;
    if (i === j) continue;
    const corner = cornerBetween(sides[i].side.lineInTable, sides[j].side.lineInTable, camera, widthPx, heightPx);
    if (corner) corners.push({ ...corner, sides: [i, j] });
  }
  return corners;
}
