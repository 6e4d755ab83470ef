import type { Camera } from '../geometry/camera.js';
import { cellRows, knotsOfRow, type PlanGrid, planCellPx } from './plan-sampling.js';
import type { Raster } from './raster.js';

/** Squares of `planCellPx` plan pixels of which something is asked: 1 for each that is, row by row. */
export interface NeededCells {
  readonly cells: Uint8Array;
  /** Squares in a row, as many as the plan has or more. */
  readonly across: number;
}

export interface GreyPlanAsked {
  /** The photo's grey pyramid, the whole photo first. */
  readonly levels: readonly Raster[];
  readonly camera: Camera;
  readonly grid: PlanGrid;
  readonly heightMm: number;
  /** The whole plan, row by row; what is not needed is left as it is. */
  readonly out: Float32Array;
  /** Null for all. */
  readonly needed: NeededCells | null;
}

/**
 * Brightness (luma) of the table seen from above where it is needed, sRGB-coded 0…255, NaN outside the photo. Each square of
 * plan pixels is sampled from that level of the photo's pyramid whose pixels are about as large as its own, and twice in a
 * direction in which the plan's are much larger: far off the photo sees the table aslant.
 * @param fromRow the first row of squares that is filled
 * @param toRow the row of squares before which filling ends
 */
export function fillGreyPlan(asked: GreyPlanAsked, fromRow: number, toRow: number): void {
  const { levels, camera, grid, heightMm, out, needed } = asked;
  const columns = Math.ceil(grid.widthPx / planCellPx);
  const rows = cellRows(grid);
  const isNeeded = (column: number, row: number): boolean =>
    needed === null || needed.cells[row * needed.across + column] === 1;
  const isIn = (c: number, r: number): boolean => c >= 0 && r >= 0 && c < columns && r < rows && isNeeded(c, r);
  const knotsOf = (row: number): Float64Array =>
    knotsOfRow(
      camera,
      grid,
      heightMm,
      row,
      (c) => isIn(c, row) || isIn(c - 1, row) || isIn(c, row - 1) || isIn(c - 1, row - 1),
    );
  let above = knotsOf(fromRow);
  for (let row = fromRow; row < toRow; row++) {
    const below = knotsOf(row + 1);
    for (let c = 0; c < columns; c++) if (isNeeded(c, row)) greyCell(levels, grid, above, below, c, row, out);
    above = below;
  }
}

/** From so many pixels of a level to a plan pixel on it is sampled twice. */
const sampledTwicePx = 1.6;

/** Room for the pixels of one square. */
const cellSums = new Float64Array(planCellPx * planCellPx);

/** Whether four knots all lie on one side of the photo. */
function isBeside({ widthPx, heightPx }: Raster, above: Float64Array, below: Float64Array, k: number): boolean {
  const [right, bottom] = [widthPx - 1, heightPx - 1];
  return (
    (above[k] < 0 && above[k + 2] < 0 && below[k] < 0 && below[k + 2] < 0) ||
    (above[k] > right && above[k + 2] > right && below[k] > right && below[k + 2] > right) ||
    (above[k + 1] < 0 && above[k + 3] < 0 && below[k + 1] < 0 && below[k + 3] < 0) ||
    (above[k + 1] > bottom && above[k + 3] > bottom && below[k + 1] > bottom && below[k + 3] > bottom)
  );
}

function clearCell(grid: PlanGrid, column: number, row: number, out: Float32Array): void {
  const left = column * planCellPx;
  const right = Math.min(left + planCellPx, grid.widthPx);
  const bottom = Math.min((row + 1) * planCellPx, grid.heightPx);
  for (let j = row * planCellPx; j < bottom; j++)
    out.fill(Number.NaN, j * grid.widthPx + left, j * grid.widthPx + right);
}

/** The plan pixels between four knots. */
function greyCell(
  levels: readonly Raster[],
  grid: PlanGrid,
  above: Float64Array,
  below: Float64Array,
  column: number,
  row: number,
  out: Float32Array,
): void {
  const k = 2 * column;
  if (isBeside(levels[0], above, below, k)) {
    clearCell(grid, column, row, out);
    return;
  }
  const acrossPx2 = ((above[k + 2] - above[k]) ** 2 + (above[k + 3] - above[k + 1]) ** 2) / planCellPx ** 2;
  const downPx2 = ((below[k] - above[k]) ** 2 + (below[k + 1] - above[k + 1]) ** 2) / planCellPx ** 2;
  // Pixels of the level are up to 1.4 times as large as those of the plan in the direction in which those are smaller.
  let level = 0;
  let scale = 1;
  for (; level + 1 < levels.length && Math.min(acrossPx2, downPx2) * scale * scale > 2; level++) scale /= 2;
  const { data, widthPx, heightPx } = levels[level];
  const shift = 0.5 * scale - 0.5;
  const across = acrossPx2 * scale * scale > sampledTwicePx ** 2 ? 2 : 1;
  const down = downPx2 * scale * scale > sampledTwicePx ** 2 ? 2 : 1;
  cellSums.fill(0);
  // Written out in one loop: a function for one sample would return each as an object.
  for (let j = 0; j < planCellPx * down; j++) {
    const v = ((j + 0.5) / down - 0.5) / planCellPx;
    const left = above[k] + v * (below[k] - above[k]);
    const top = above[k + 1] + v * (below[k + 1] - above[k + 1]);
    const stepX = (scale * (above[k + 2] + v * (below[k + 2] - above[k + 2]) - left)) / planCellPx;
    const stepY = (scale * (above[k + 3] + v * (below[k + 3] - above[k + 3]) - top)) / planCellPx;
    const x0 = scale * left + shift;
    const y0 = scale * top + shift;
    const to = (down === 1 ? j : j >> 1) * planCellPx;
    for (let i = 0; i < planCellPx * across; i++) {
      const u = (i + 0.5) / across - 0.5;
      const px = x0 + u * stepX;
      const py = y0 + u * stepY;
      const put = to + (across === 1 ? i : i >> 1);
      if (!(px >= 0 && py >= 0 && px < widthPx - 1 && py < heightPx - 1)) {
        cellSums[put] = Number.NaN;
        continue;
      }
      const x = px | 0;
      const y = py | 0;
      const fx = px - x;
      const a = y * widthPx + x;
      const b = a + widthPx;
      const upper = data[a] + fx * (data[a + 1] - data[a]);
      const lower = data[b] + fx * (data[b + 1] - data[b]);
      cellSums[put] += upper + (py - y) * (lower - upper);
    }
  }
  const left = column * planCellPx;
  const top = row * planCellPx;
  const width = Math.min(planCellPx, grid.widthPx - left);
  const height = Math.min(planCellPx, grid.heightPx - top);
  const share = 1 / (across * down);
  for (let j = 0; j < height; j++)
    for (let i = 0; i < width; i++) out[(top + j) * grid.widthPx + left + i] = cellSums[j * planCellPx + i] * share;
}
