import { planCellPx } from '../../images/plan-sampling.js';
import {
  defaultLikenessOptions,
  type PlanSize,
  type RailLikeness,
  reachOfWanted,
  wantedSize,
} from './rail-likeness.js';
import { ridgePixels, strongLevel } from './trace-path.js';

/** Score on the coarse plan, as a share of that of well-seen rails, from which a place is looked at more closely. */
const leastShare = 0.1;

/** Around such a place it is looked closely as far as this, coarse pixels. */
const spreadPx = 2;

/** Directions up to this far from the coarse one are looked at, fine steps of direction. */
const spreadSteps = 2.5;

/**
 * Where rails may run and which way, told from a plan of half the resolution.
 * @param coarse likeness of a plan with twice the millimetres a pixel and the same first pixel
 * @returns for each pixel (2·i, 2·j) of the fine plan a bit for each direction, row by row, as `findLikenessWhere` takes
 * them
 */
export function promisingPlaces(coarse: RailLikeness, fine: PlanSize): Int32Array {
  const [columns, rows] = wantedSize(fine);
  const wanted = new Int32Array(columns * rows);
  const { widthPx, score, direction } = coarse;
  const least = leastShare * strongLevel(coarse, ridgePixels / 4);
  const bits = Int32Array.from({ length: coarse.directionCount }, (_, d) => directionsNear(d / coarse.directionCount));
  for (const at of coarse.found) {
    if (!(score[at] > least)) continue;
    const x = at % widthPx;
    const y = Math.floor(at / widthPx);
    for (let j = Math.max(0, y - spreadPx); j <= Math.min(rows - 1, y + spreadPx); j++)
      for (let i = Math.max(0, x - spreadPx); i <= Math.min(columns - 1, x + spreadPx); i++)
        wanted[j * columns + i] |= bits[direction[at]];
  }
  return wanted;
}

/** @param share of half a turn */
function directionsNear(share: number): number {
  const { directionCount } = defaultLikenessOptions;
  const middle = share * directionCount;
  let bits = 0;
  for (let k = Math.ceil(middle - spreadSteps); k <= middle + spreadSteps; k++)
    bits |= 1 << ((k + directionCount) % directionCount);
  return bits;
}

/** The squares of plan cells that must be known where something is wanted. */
export function cellsNeeded(
  wanted: Int32Array,
  fine: PlanSize,
  spacingPx: number,
): (column: number, row: number) => boolean {
  const [columns, rows] = wantedSize(fine);
  const across = Math.ceil(fine.widthPx / planCellPx) + 1;
  const down = Math.ceil(fine.heightPx / planCellPx) + 1;
  const cells = new Uint8Array(across * down);
  const perCell = planCellPx / 2;
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++)
      if (wanted[j * columns + i] !== 0) cells[Math.floor(j / perCell) * across + Math.floor(i / perCell)] = 1;
  const reach = Math.ceil(reachOfWanted(spacingPx) / planCellPx);
  const wide = spread(cells, across, down, reach, 1, across);
  const both = spread(wide, down, across, reach, across, 1);
  return (column, row) => both[row * across + column] === 1;
}

/** Marks what is marked within `reach` to either side in its row; rows and places in them lie these steps apart. */
function spread(marks: Uint8Array, length: number, count: number, reach: number, step: number, pitch: number) {
  const out = new Uint8Array(marks.length);
  for (let row = 0; row < count; row++) {
    let last = Number.NEGATIVE_INFINITY;
    const from = row * pitch;
    for (let k = 0; k < length + reach; k++) {
      if (k < length && marks[from + k * step] === 1) last = k;
      const to = k - reach;
      if (to >= 0 && last >= to - reach) out[from + to * step] = 1;
    }
  }
  return out;
}
