import { throwIfCancelled } from '../../base/cancel.js';
import { photoFromTable, tableFromPhotoAtHeight } from '../../geometry/camera.js';
import { type PhotoPoint, type TablePoint, tablePoint } from '../../geometry/frames.js';
import type { TableEdge, TableEdgePoint, TableSide } from '../../scene/table-edge.js';
import type { EdgeCurve } from './edge-places.js';
import { onTable, reduceForEdge, seenAlong, type TableEdgeInput } from './find-table-edge.js';
import { giveBackRoom } from './finish-model.js';
import { fitTableLine } from './outline-geometry.js';
import { finishInside } from './outline-search.js';
import { straightenSides } from './straighten-sides.js';
import type { LineProjector } from './table-lines.js';
import { coveredByTrack, trackDistance } from './track-zone.js';

/** A corner of the table top as a person says it. */
export interface GivenCorner {
  readonly inPhoto: PhotoPoint;
  /** Put there by the person; else it only stands where it was found before. */
  readonly set: boolean;
}

export interface EdgeFromCorners {
  readonly edge: TableEdge;
  /** How far the corners that were set moved onto the picture, pixels: the largest. */
  readonly movedPx: number;
}

/** Where nothing is seen along a side that a person gave, the line itself counts, as exactly as a finger points. */
const fingerSigmaPx = 4;
const fingerSpacingPx = 40;
/** An edge farther than this from a corner that was set is another edge, pixels. */
const mostMovedPx = 25;

/**
 * Measures the edge of the table top along the sides between given corners: no search, but the same straightening and
 * the same step fit at full resolution as for sides found without help.
 * @param corners in order round the table, in either direction
 */
export function edgeFromCorners(
  input: TableEdgeInput,
  corners: readonly GivenCorner[],
  signal?: AbortSignal,
): EdgeFromCorners | null {
  const { camera } = input;
  const { raster } = input.photo;
  const inTable = corners.map((c) => {
    const p = tableFromPhotoAtHeight(camera, c.inPhoto.x, c.inPhoto.y, 0);
    return { at: tablePoint(p.x, p.y), set: c.set };
  });
  if (inTable.some((c) => !Number.isFinite(c.at.x + c.at.y))) return null;
  const round = areaOf(inTable.map((c) => c.at)) < 0 ? inTable.reverse() : inTable;
  const on = onTable(input);
  const inside = placesInside(round.map((c) => c.at));
  const { finish, projector } = finishInside(raster, camera, on, inside, input.reduced ?? reduceForEdge(raster));
  const given = round.map((c, i) => curveBetween(c.at, round[(i + 1) % round.length].at, projector.origin));
  throwIfCancelled(signal);
  const curves = straightenSides(raster, camera, projector, finish, trackDistance(camera, on), given);
  const covered = coveredByTrack(camera, on);
  const sides: (TableSide | null)[] = curves.map((curve, i) => {
    throwIfCancelled(signal);
    const seenSide = seenAlong(raster, camera, projector, finish, curve, covered);
    const snapped = seenSide && { ...seenSide, certainty: 1 };
    const set = [round[i], round[(i + 1) % round.length]].filter((c) => c.set);
    if (snapped && set.every((c) => offLinePx(input, c.at, snapped) < mostMovedPx)) return snapped;
    if (set.length === 0) return snapped;
    const points = pointedAt(projector, given[i]);
    if (points.length < 2) return null;
    return { points, lineInTable: fitTableLine(points, camera, curve.line.thetaRad), certainty: 1, seenRatio: 0 };
  });
  giveBackRoom(finish);
  const seen = sides.filter((s) => s !== null);
  if (seen.length === 0) return null;
  return { edge: { sides: seen, corners: [] }, movedPx: mostMoved(input, round, sides) };
}

/** Twice the signed area; positive when the corners go round counter-clockwise. */
function areaOf(points: readonly TablePoint[]): number {
  return points.reduce((sum, p, i) => {
    const q = points[(i + 1) % points.length];
    return sum + p.x * q.y - q.x * p.y;
  }, 0);
}

/** Places that lie on the table: the corners and the middles of the sides, drawn in towards the middle. */
function placesInside(corners: readonly TablePoint[]): TablePoint[] {
  const n = corners.length;
  const cx = corners.reduce((sum, p) => sum + p.x, 0) / n;
  const cy = corners.reduce((sum, p) => sum + p.y, 0) / n;
  return corners.flatMap((p, i) => {
    const q = corners[(i + 1) % n];
    return [0, 0.25, 0.5, 0.75].map((t) => {
      const [x, y] = [p.x + t * (q.x - p.x), p.y + t * (q.y - p.y)];
      return tablePoint(cx + 0.9 * (x - cx), cy + 0.9 * (y - cy));
    });
  });
}

function curveBetween(a: TablePoint, b: TablePoint, origin: TablePoint): EdgeCurve {
  const length = Math.max(1e-6, Math.hypot(b.x - a.x, b.y - a.y));
  const [dx, dy] = [(b.x - a.x) / length, (b.y - a.y) / length];
  const line = { thetaRad: Math.atan2(-dx, dy), rhoMm: (a.x - origin.x) * dy - (a.y - origin.y) * dx };
  const fromMm = (a.x - origin.x) * dx + (a.y - origin.y) * dy;
  return { line, shiftPx: [0], fromMm, toMm: fromMm + length };
}

function pointedAt(projector: LineProjector, { line, fromMm, toMm }: EdgeCurve): TableEdgePoint[] {
  const places = projector.lineInPhoto(line, fingerSpacingPx, 0);
  const points: TableEdgePoint[] = [];
  for (let i = 0; i < places.count; i++) {
    if (places.sMm[i] < fromMm || places.sMm[i] > toMm) continue;
    const normal = [places.nx[i], places.ny[i]] as const;
    points.push({ px: places.px[i], py: places.py[i], sigmaPx: fingerSigmaPx, normal });
  }
  return points;
}

/** Distance of a place of the table from a side's line, as the photo shows it. */
function offLinePx({ camera }: TableEdgeInput, at: TablePoint, { lineInTable }: TableSide): number {
  const { through, direction } = lineInTable;
  const along = (at.x - through.x) * direction[0] + (at.y - through.y) * direction[1];
  const from = photoFromTable(camera, at.x, at.y, 0);
  const to = photoFromTable(camera, through.x + along * direction[0], through.y + along * direction[1], 0);
  return Math.hypot(to.x - from.x, to.y - from.y);
}

/** How far the crossings of the measured sides lie from the corners that were set. */
function mostMoved(
  { camera }: TableEdgeInput,
  round: readonly { readonly at: TablePoint; readonly set: boolean }[],
  sides: readonly (TableSide | null)[],
): number {
  let most = 0;
  round.forEach(({ at, set }, i) => {
    const before = sides[(i + sides.length - 1) % sides.length];
    const after = sides[i];
    if (!set || !before || !after) return;
    const crossing = crossingOf(before.lineInTable, after.lineInTable);
    if (!crossing) return;
    const from = photoFromTable(camera, at.x, at.y, 0);
    const to = photoFromTable(camera, crossing.x, crossing.y, 0);
    most = Math.max(most, Math.hypot(to.x - from.x, to.y - from.y));
  });
  return most;
}

function crossingOf(a: TableSide['lineInTable'], b: TableSide['lineInTable']): { x: number; y: number } | null {
  const turn = a.direction[0] * b.direction[1] - a.direction[1] * b.direction[0];
  if (Math.abs(turn) < 0.05) return null;
  const [dx, dy] = [b.through.x - a.through.x, b.through.y - a.through.y];
  const s = (dx * b.direction[1] - dy * b.direction[0]) / turn;
  return { x: a.through.x + s * a.direction[0], y: a.through.y + s * a.direction[1] };
}
