import { type Camera, tableFromPhotoAtHeight } from '../../geometry/camera.js';
import { type TablePoint, tablePoint } from '../../geometry/frames.js';
import type { TableEdgePoint, TableSide } from '../../scene/table-edge.js';
import { projectWithin } from './table-lines.js';

type LineInTable = TableSide['lineInTable'];

/**
 * Straight line through points of the edge at z = 0, least squares of the distances (principal axis).
 * @param thetaRad rough direction of the outward normal, to point the line so that the table lies on its left
 */
export function fitTableLine(points: readonly TableEdgePoint[], camera: Camera, thetaRad: number): LineInTable {
  const inTable = points.map((p) => tableFromPhotoAtHeight(camera, p.px, p.py, 0));
  const n = inTable.length;
  const mx = inTable.reduce((sum, p) => sum + p.x, 0) / n;
  const my = inTable.reduce((sum, p) => sum + p.y, 0) / n;
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (const p of inTable) {
    xx += (p.x - mx) ** 2;
    xy += (p.x - mx) * (p.y - my);
    yy += (p.y - my) ** 2;
  }
  const angle = 0.5 * Math.atan2(2 * xy, xx - yy);
  const sign = -Math.sin(thetaRad) * Math.cos(angle) + Math.cos(thetaRad) * Math.sin(angle) < 0 ? -1 : 1;
  return { through: tablePoint(mx, my), direction: [sign * Math.cos(angle), sign * Math.sin(angle)] };
}

/** Where the second side leaves the first to the left, or null when it does not follow it round a corner. */
export function cornerBetween(
  first: LineInTable,
  second: LineInTable,
  camera: Camera,
  widthPx: number,
  heightPx: number,
): { inTable: TablePoint; inPicture: boolean } | null {
  const [ax, ay] = first.direction;
  const [bx, by] = second.direction;
  const turn = ax * by - ay * bx;
  if (turn < Math.sin(Math.PI / 6)) return null;
  const dx = second.through.x - first.through.x;
  const dy = second.through.y - first.through.y;
  const s = (dx * by - dy * bx) / turn;
  const inTable = tablePoint(first.through.x + s * ax, first.through.y + s * ay);
  const p = projectWithin(camera, inTable.x, inTable.y, widthPx, heightPx);
  const inPicture = p !== null && p.x >= 0 && p.y >= 0 && p.x <= widthPx - 1 && p.y <= heightPx - 1;
  return { inTable, inPicture };
}
