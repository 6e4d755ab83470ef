import type { Camera } from '../../geometry/camera.js';
import { tableFromPhotoAtHeight } from '../../geometry/camera.js';
import type { TablePoint } from '../../geometry/frames.js';
import { middleInPlace } from '../../linalg/middle.js';
import { type OnTable, reachOf } from './finish-places.js';
import { photoFromReduced, type ReducedPhoto, reducedFromPhoto } from './reduced-photo.js';
import { projectWithin } from './table-lines.js';

/** Side of a square, mm: a tenth of a narrow board. */
export const squareMm = 10;

/** What the plane of the table top (z = 0) looks like from above, square by square; the floor too, seen as if it lay there. */
export interface LookFromAbove {
  readonly columns: number;
  readonly rows: number;
  /** Middle of the first square, mm from the origin of the lines. */
  readonly leftMm: number;
  readonly lowMm: number;
  /**
   * As in tone-look.ts, interleaved, row by row, within `mostOff` of what is usual: a thing that lies about must not
   * outweigh the rest of a line. The first is NaN where a square shows track, a sheet or nothing.
   */
  readonly look: Float32Array;
}

/** The table top is looked for up to so far beyond what lies on it, mm. */
const beyondMm = 700;
/** Log tone, red–green and blue–green farther than this from the table top's usual look count as so far off. */
const mostOff = [0.5, 0.08, 0.08];
/** A sheet reaches this many sides of its marker from the marker's middle (the printed sheets: up to 2.2). */
const sheetSides = 2.3;

/** @param marks what the known track covers, as in track-zone.ts */
export function lookFromAbove(
  camera: Camera,
  reduced: ReducedPhoto,
  marks: Uint8Array,
  on: OnTable,
  origin: TablePoint,
): LookFromAbove {
  const { widthPx, heightPx, scale } = reduced;
  const { left, low, right, high } = boxToLookAt(camera, reduced, on, origin);
  const columns = Math.max(1, Math.floor((right - left) / squareMm));
  const rows = Math.max(1, Math.floor((high - low) / squareMm));
  const look = new Float32Array(3 * columns * rows).fill(Number.NaN);
  const isSheet = onSheet(on, origin);
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++) {
      const x = left + i * squareMm;
      const y = low + j * squareMm;
      const p = projectWithin(camera, origin.x + x, origin.y + y, widthPx * scale, heightPx * scale);
      if (!p) continue;
      const qx = Math.round(reducedFromPhoto(scale, p.x));
      const qy = Math.round(reducedFromPhoto(scale, p.y));
      if (qx < 2 || qy < 2 || qx >= widthPx - 2 || qy >= heightPx - 2) continue;
      const at = qy * widthPx + qx;
      if (marks[at] > 0 || isSheet(x, y)) continue;
      look.set(reduced.look.subarray(3 * at, 3 * at + 3), 3 * (j * columns + i));
    }
  const above = { columns, rows, leftMm: left, lowMm: low, look };
  keepNearUsual(above, reachOf(on, origin));
  return above;
}

/** Draws looks towards the usual look of the table top, that between what lies on it. */
function keepNearUsual(
  { columns, rows, leftMm, lowMm, look }: LookFromAbove,
  reach: (thetaRad: number) => number,
): void {
  const [east, north, west, south] = [0, 1, 2, 3].map((k) => reach((k * Math.PI) / 2));
  for (let c = 0; c < 3; c++) {
    const inside: number[] = [];
    for (let j = Math.round((-south - lowMm) / squareMm); j <= (north - lowMm) / squareMm; j++)
      for (let i = Math.round((-west - leftMm) / squareMm); i <= (east - leftMm) / squareMm; i++) {
        const v = i >= 0 && j >= 0 && i < columns && j < rows ? look[3 * (j * columns + i) + c] : Number.NaN;
        if (!Number.isNaN(v)) inside.push(v);
      }
    if (inside.length === 0) continue;
    const usual = middleInPlace(Float64Array.from(inside));
    for (let i = c; i < look.length; i += 3)
      look[i] = Math.max(usual - mostOff[c], Math.min(usual + mostOff[c], look[i]));
  }
}

/** The part of the plane that the picture shows, not far beyond what lies on the table; mm from the origin. */
function boxToLookAt(
  camera: Camera,
  { widthPx, heightPx, scale }: ReducedPhoto,
  on: OnTable,
  origin: TablePoint,
): { left: number; low: number; right: number; high: number } {
  const reach = reachOf(on, origin);
  const [east, north, west, south] = [0, 1, 2, 3].map((k) => reach((k * Math.PI) / 2) + beyondMm);
  const box = { left: 0, low: 0, right: 0, high: 0 };
  const steps = 8;
  for (let k = 0; k <= steps; k++)
    for (const [u, v] of [
      [k / steps, 0],
      [k / steps, 1],
      [0, k / steps],
      [1, k / steps],
    ]) {
      const p = tableFromPhotoAtHeight(
        camera,
        photoFromReduced(scale, u * (widthPx - 1)),
        photoFromReduced(scale, v * (heightPx - 1)),
        0,
      );
      if (!Number.isFinite(p.x + p.y)) continue;
      box.left = Math.min(box.left, p.x - origin.x);
      box.right = Math.max(box.right, p.x - origin.x);
      box.low = Math.min(box.low, p.y - origin.y);
      box.high = Math.max(box.high, p.y - origin.y);
    }
  return {
    left: Math.max(box.left, -west),
    low: Math.max(box.low, -south),
    right: Math.min(box.right, east),
    high: Math.min(box.high, north),
  };
}

function onSheet(on: OnTable, origin: TablePoint): (x: number, y: number) => boolean {
  const sheets = on.markerCorners.map((corners) => ({
    x: corners.reduce((sum, p) => sum + p.x, 0) / 4 - origin.x,
    y: corners.reduce((sum, p) => sum + p.y, 0) / 4 - origin.y,
    reach: sheetSides * Math.hypot(corners[0].x - corners[1].x, corners[0].y - corners[1].y),
  }));
  return (x, y) => sheets.some((s) => (x - s.x) ** 2 + (y - s.y) ** 2 < s.reach ** 2);
}
