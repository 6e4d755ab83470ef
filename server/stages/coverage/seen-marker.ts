import { markerCornerInTable, type PlacedMarker } from '../../scene/placed-marker.js';
import type { SolvedTable } from '../../scene/solved-table.js';
import { RowWriter, type View } from './camera-part.js';
import { type Information, observe } from './information.js';

/** Smaller than this in the picture a marker is not read surely, pixels of its side. */
const smallestSidePx = 30;

type Placed = Omit<PlacedMarker, 'id'>;

function cornersOf(marker: Placed, sideMm: number): [number, number][] {
  return [0, 1, 2, 3].map((k) => markerCornerInTable(marker, sideMm, k));
}

/** Whether a view shows a marker whole and large enough to read. */
export function showsMarker(view: View, marker: Placed, sideMm: number): boolean {
  const writer = new RowWriter(view);
  const seen: [number, number][] = [];
  for (const [x, y] of cornersOf(marker, sideMm)) {
    if (!writer.project(x, y, 0)) return false;
    seen.push([writer.q.u, writer.q.v]);
  }
  return seen.every(([u, v], k) => {
    const next = seen[(k + 1) % 4];
    return Math.hypot(next[0] - u, next[1] - v) >= smallestSidePx;
  });
}

/** Adds what the four corners of a marker say in a view; `markerAt` is where its x, y and turn stand. */
export function observeMarker(
  into: Information,
  solved: SolvedTable,
  view: View,
  marker: Placed,
  markerAt: number,
): void {
  const writer = new RowWriter(view);
  const { index, derivative } = writer;
  for (const [x, y] of cornersOf(marker, solved.markerSideMm)) {
    writer.project(x, y, 0);
    for (const [nx, ny] of [
      [1, 0],
      [0, 1],
    ]) {
      const { entries, by } = writer.camera(nx, ny, 1 / solved.quality.cornerSigmaPx);
      const [dx, dy] = [x - marker.x, y - marker.y];
      index.set([markerAt, markerAt + 1, markerAt + 2, solved.layout.printScale], entries);
      derivative.set([by[0], by[1], -by[0] * dy + by[1] * dx, by[0] * dx + by[1] * dy], entries);
      observe(into, index, derivative, entries + 4);
    }
  }
}
