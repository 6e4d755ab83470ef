import { type Camera, photoFromTable } from '../geometry/camera.js';
import type { Raster } from './raster.js';

/** A rectangle of the table, cut into square pixels: pixel (i, j) is at (x0 + i·step, y1 − j·step) millimetres. */
export interface PlanGrid {
  readonly x0: number;
  /** Upper side: y falls with the row. */
  readonly y1: number;
  readonly mmPerPx: number;
  readonly widthPx: number;
  readonly heightPx: number;
}

/** Photo positions of every fourth plan pixel and linear between: the error is below 0.01 px at usual scales. */
const knotPx = 4;

/**
 * Calls `put` for every plan pixel with its place in the photo; rows from the top.
 * @param heightMm height above the table at which the picture is to be true
 */
export function walkPlan(
  camera: Camera,
  grid: PlanGrid,
  heightMm: number,
  put: (index: number, px: number, py: number) => void,
): void {
  const columns = Math.ceil(grid.widthPx / knotPx) + 1;
  const knots = (row: number): Float64Array => {
    const out = new Float64Array(columns * 2);
    for (let c = 0; c < columns; c++) {
      const p = photoFromTable(camera, grid.x0 + c * knotPx * grid.mmPerPx, grid.y1 - row * grid.mmPerPx, heightMm);
      out[2 * c] = p.x;
      out[2 * c + 1] = p.y;
    }
    return out;
  };
  let above = knots(0);
  for (let top = 0; top < grid.heightPx; top += knotPx) {
    const below = knots(top + knotPx);
    for (let j = top; j < Math.min(top + knotPx, grid.heightPx); j++) {
      const v = (j - top) / knotPx;
      for (let i = 0; i < grid.widthPx; i++) {
        const c = 2 * ((i / knotPx) | 0);
        const u = (i % knotPx) / knotPx;
        const x = (1 - v) * ((1 - u) * above[c] + u * above[c + 2]) + v * ((1 - u) * below[c] + u * below[c + 2]);
        const y =
          (1 - v) * ((1 - u) * above[c + 1] + u * above[c + 3]) + v * ((1 - u) * below[c + 1] + u * below[c + 3]);
        put(j * grid.widthPx + i, x, y);
      }
    }
    above = below;
  }
}

/** Where in a plan pixel its samples lie, columns and rows in shares of the pixel; their mean is the pixel. */
const samplePlaces = [
  [-0.25, -0.25],
  [0.25, -0.25],
  [-0.25, 0.25],
  [0.25, 0.25],
] as const;

/**
 * Brightness of the table seen from above, sRGB-coded 0…255, NaN outside the photo; each pixel the mean of 2 × 2 samples.
 * Its memory can be seen by other threads.
 */
export function greyPlan(raster: Raster, camera: Camera, grid: PlanGrid, heightMm: number): Float32Array {
  const out = new Float32Array(new SharedArrayBuffer(4 * grid.widthPx * grid.heightPx)).fill(Number.NaN);
  const columns = Math.ceil(grid.widthPx / knotPx) + 1;
  let above = sampleKnots(camera, grid, heightMm, 0, columns);
  for (let top = 0; top < grid.heightPx; top += knotPx) {
    const below = sampleKnots(camera, grid, heightMm, top + knotPx, columns);
    for (let c = 0; c + 1 < columns; c++)
      if (mayShow(above, below, c, raster)) greyCell(raster, grid, above, below, c, top, out);
    above = below;
  }
  return out;
}

/** Numbers of a knot: x and y in the photo of each sample. */
const knotSize = 2 * samplePlaces.length;

function sampleKnots(camera: Camera, grid: PlanGrid, heightMm: number, row: number, columns: number): Float64Array {
  const knots = new Float64Array(columns * knotSize);
  for (let q = 0; q < samplePlaces.length; q++) {
    const x0 = grid.x0 + samplePlaces[q][0] * grid.mmPerPx;
    const y = grid.y1 - samplePlaces[q][1] * grid.mmPerPx - row * grid.mmPerPx;
    for (let c = 0; c < columns; c++) {
      const p = photoFromTable(camera, x0 + c * knotPx * grid.mmPerPx, y, heightMm);
      knots[c * knotSize + 2 * q] = p.x;
      knots[c * knotSize + 2 * q + 1] = p.y;
    }
  }
  return knots;
}

/** False where all places between four knots lie beyond one side of the photo: what lies between never lies elsewhere. */
function mayShow(above: Float64Array, below: Float64Array, column: number, { widthPx, heightPx }: Raster): boolean {
  let [left, right, up, down] = [true, true, true, true];
  const from = column * knotSize;
  for (let k = from; k < from + 2 * knotSize; k += 2)
    for (const knots of [above, below]) {
      if (!(knots[k] < 0)) left = false;
      if (!(knots[k] >= widthPx - 1)) right = false;
      if (!(knots[k + 1] < 0)) up = false;
      if (!(knots[k + 1] >= heightPx - 1)) down = false;
    }
  return !(left || right || up || down);
}

/** The plan pixels between four knots. */
function greyCell(
  raster: Raster,
  grid: PlanGrid,
  above: Float64Array,
  below: Float64Array,
  column: number,
  top: number,
  out: Float32Array,
): void {
  const { data, widthPx, heightPx } = raster;
  const firstColumn = column * knotPx;
  const width = Math.min(knotPx, grid.widthPx - firstColumn);
  const height = Math.min(knotPx, grid.heightPx - top);
  const from = column * knotSize;
  for (let j = 0; j < height; j++) {
    const v = j / knotPx;
    for (let i = 0; i < width; i++) {
      const u = i / knotPx;
      let grey = 0;
      for (let k = from; k < from + knotSize; k += 2) {
        const next = k + knotSize;
        const px = (1 - v) * ((1 - u) * above[k] + u * above[next]) + v * ((1 - u) * below[k] + u * below[next]);
        const py =
          (1 - v) * ((1 - u) * above[k + 1] + u * above[next + 1]) + v * ((1 - u) * below[k + 1] + u * below[next + 1]);
        if (!(px >= 0 && py >= 0 && px < widthPx - 1 && py < heightPx - 1)) {
          grey = Number.NaN;
          break;
        }
        const x = px | 0;
        const y = py | 0;
        const fx = px - x;
        const fy = py - y;
        const a = (y * widthPx + x) * 3;
        const b = a + widthPx * 3;
        // The three channels together: whole numbers, so that nothing is lost.
        const topLeft = data[a] + data[a + 1] + data[a + 2];
        const upper = topLeft + fx * (data[a + 3] + data[a + 4] + data[a + 5] - topLeft);
        const bottomLeft = data[b] + data[b + 1] + data[b + 2];
        const lower = bottomLeft + fx * (data[b + 3] + data[b + 4] + data[b + 5] - bottomLeft);
        grey += upper + fy * (lower - upper);
      }
      out[(top + j) * grid.widthPx + firstColumn + i] = grey / (3 * samplePlaces.length);
    }
  }
}

/** The coloured picture of the table from above; white outside the photo. */
export function colourPlan(raster: Raster, camera: Camera, grid: PlanGrid, heightMm: number): Raster {
  const out = new Uint8Array(grid.widthPx * grid.heightPx * 3).fill(255);
  const { data, widthPx, heightPx } = raster;
  const row = widthPx * 3;
  walkPlan(camera, grid, heightMm, (index, px, py) => {
    if (!(px >= 0 && py >= 0 && px < widthPx - 1 && py < heightPx - 1)) return;
    const x = px | 0;
    const y = py | 0;
    const fx = px - x;
    const fy = py - y;
    const a = y * row + x * 3;
    const b = a + row;
    const to = index * 3;
    for (let k = 0; k < 3; k++) {
      const top = data[a + k] + fx * (data[a + 3 + k] - data[a + k]);
      const bottom = data[b + k] + fx * (data[b + 3 + k] - data[b + k]);
      out[to + k] = top + fy * (bottom - top) + 0.5;
    }
  });
  return { widthPx: grid.widthPx, heightPx: grid.heightPx, channels: 3, data: out };
}
