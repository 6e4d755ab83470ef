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
export const planCellPx = 4;

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
  const columns = Math.ceil(grid.widthPx / planCellPx) + 1;
  const knots = (row: number): Float64Array => {
    const out = new Float64Array(columns * 2);
    for (let c = 0; c < columns; c++) {
      const p = photoFromTable(camera, grid.x0 + c * planCellPx * grid.mmPerPx, grid.y1 - row * grid.mmPerPx, heightMm);
      out[2 * c] = p.x;
      out[2 * c + 1] = p.y;
    }
    return out;
  };
  let above = knots(0);
  for (let top = 0; top < grid.heightPx; top += planCellPx) {
    const below = knots(top + planCellPx);
    for (let j = top; j < Math.min(top + planCellPx, grid.heightPx); j++) {
      const v = (j - top) / planCellPx;
      for (let i = 0; i < grid.widthPx; i++) {
        const c = 2 * ((i / planCellPx) | 0);
        const u = (i % planCellPx) / planCellPx;
        const x = (1 - v) * ((1 - u) * above[c] + u * above[c + 2]) + v * ((1 - u) * below[c] + u * below[c + 2]);
        const y =
          (1 - v) * ((1 - u) * above[c + 1] + u * above[c + 3]) + v * ((1 - u) * below[c + 1] + u * below[c + 3]);
        put(j * grid.widthPx + i, x, y);
      }
    }
    above = below;
  }
}

/** Where the knots between two rows of cells appear in the photo, x and y of each; 0 where they are not wanted. */
export function knotsOfRow(
  camera: Camera,
  grid: PlanGrid,
  heightMm: number,
  row: number,
  isWanted: (column: number) => boolean,
): Float64Array {
  const columns = Math.ceil(grid.widthPx / planCellPx);
  const knots = new Float64Array(2 * (columns + 1));
  const y = grid.y1 - row * planCellPx * grid.mmPerPx;
  for (let c = 0; c <= columns; c++) {
    if (!isWanted(c)) continue;
    const p = photoFromTable(camera, grid.x0 + c * planCellPx * grid.mmPerPx, y, heightMm);
    knots[2 * c] = p.x;
    knots[2 * c + 1] = p.y;
  }
  return knots;
}

/** The coloured picture of the table from above; white outside the photo. */
export function colourPlan(raster: Raster, camera: Camera, grid: PlanGrid, heightMm: number): Raster {
  const out = new Uint8Array(grid.widthPx * grid.heightPx * 3);
  fillColourPlan({ raster, camera, grid, heightMm, out }, 0, cellRows(grid));
  return { widthPx: grid.widthPx, heightPx: grid.heightPx, channels: 3, data: out };
}

/** Rows of squares of `planCellPx` pixels, the last one perhaps cut. */
export function cellRows(grid: PlanGrid): number {
  return Math.ceil(grid.heightPx / planCellPx);
}

/** What the coloured picture is drawn from, and where to. */
export interface ColourPlanAsked {
  readonly raster: Raster;
  readonly camera: Camera;
  readonly grid: PlanGrid;
  readonly heightMm: number;
  /** The whole picture, three channels. */
  readonly out: Uint8Array;
}

/** A part of the coloured picture: the squares of `planCellPx` pixels in some rows of them. */
export function fillColourPlan(asked: ColourPlanAsked, fromRow: number, toRow: number): void {
  const { raster, camera, grid, heightMm, out } = asked;
  const columns = Math.ceil(grid.widthPx / planCellPx);
  const rowBytes = 3 * grid.widthPx;
  out.fill(255, fromRow * planCellPx * rowBytes, Math.min(toRow * planCellPx, grid.heightPx) * rowBytes);
  const knotsOf = (row: number): Float64Array => knotsOfRow(camera, grid, heightMm, row, () => true);
  let above = knotsOf(fromRow);
  for (let row = fromRow; row < toRow; row++) {
    const below = knotsOf(row + 1);
    for (let c = 0; c < columns; c++) colourCell(raster, grid, above, below, c, row, out);
    above = below;
  }
}

/** The plan pixels between four knots. */
function colourCell(
  raster: Raster,
  grid: PlanGrid,
  above: Float64Array,
  below: Float64Array,
  column: number,
  row: number,
  out: Uint8Array,
): void {
  const { widthPx, heightPx } = raster;
  const k = 2 * column;
  const left = column * planCellPx;
  const top = row * planCellPx;
  const width = Math.min(planCellPx, grid.widthPx - left);
  const height = Math.min(planCellPx, grid.heightPx - top);
  for (let j = 0; j < height; j++) {
    const v = j / planCellPx;
    const x0 = above[k] + v * (below[k] - above[k]);
    const y0 = above[k + 1] + v * (below[k + 1] - above[k + 1]);
    const x1 = above[k + 2] + v * (below[k + 2] - above[k + 2]);
    const y1 = above[k + 3] + v * (below[k + 3] - above[k + 3]);
    const to = ((top + j) * grid.widthPx + left) * 3;
    const isIn =
      Math.min(x0, x1) >= 0 &&
      Math.min(y0, y1) >= 0 &&
      Math.max(x0, x1) < widthPx - 1 &&
      Math.max(y0, y1) < heightPx - 1;
    const stepX = (x1 - x0) / planCellPx;
    const stepY = (y1 - y0) / planCellPx;
    if (isIn) {
      colourRow(raster, inParts(x0), inParts(y0), inParts(stepX), inParts(stepY), width, out, to);
      continue;
    }
    // At the border of the photo, pixel by pixel.
    for (let i = 0; i < width; i++) {
      const px = x0 + i * stepX;
      const py = y0 + i * stepY;
      if (px >= 0 && py >= 0 && px < widthPx - 1 && py < heightPx - 1)
        colourRow(raster, inParts(px), inParts(py), 0, 0, 1, out, to + 3 * i);
    }
  }
}

/** Photo positions are counted in parts of a pixel that whole numbers hold for any photo: 2^14, of which 2^8 weigh. */
const positionParts = 1 << 14;
const inParts = (px: number): number => (px * positionParts) | 0;

/** Plan pixels in a row, all in the photo, linear between its pixels. */
function colourRow(
  { data, widthPx }: Raster,
  firstXParts: number,
  firstYParts: number,
  acrossParts: number,
  downParts: number,
  count: number,
  out: Uint8Array,
  start: number,
): void {
  let x = firstXParts;
  let y = firstYParts;
  for (let i = 0, to = start; i < count; i++, x += acrossParts, y += downParts, to += 3) {
    const fx = (x >> 6) & 255;
    const fy = (y >> 6) & 255;
    const a = ((y >> 14) * widthPx + (x >> 14)) * 3;
    const b = a + widthPx * 3;
    const both = (fx * fy + 128) >> 8;
    const right = fx - both;
    const under = fy - both;
    const here = 256 - fx - under;
    out[to] = (here * data[a] + right * data[a + 3] + under * data[b] + both * data[b + 3] + 128) >> 8;
    out[to + 1] = (here * data[a + 1] + right * data[a + 4] + under * data[b + 1] + both * data[b + 4] + 128) >> 8;
    out[to + 2] = (here * data[a + 2] + right * data[a + 5] + under * data[b + 2] + both * data[b + 5] + 128) >> 8;
  }
}
