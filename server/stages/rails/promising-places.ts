import type { NeededCells } from '../../images/grey-plan.js';
import { planCellPx } from '../../images/plan-sampling.js';
import { type PlanSize, type RailLikeness, WantedPlaces } from './likeness-tiles.js';
import { defaultLikenessOptions, reachOfWanted } from './rail-likeness.js';
import { ridgesOf } from './ridges.js';
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
 */
export function promisingPlaces(coarse: RailLikeness, fine: PlanSize): WantedPlaces {
  const wanted = new WantedPlaces(fine);
  const { widthPx } = coarse;
  const least = leastShare * strongLevel(coarse, ridgePixels / 4);
  const bits = Int32Array.from({ length: coarse.directionCount }, (_, d) => directionsNear(d / coarse.directionCount));
  for (const at of ridgesOf(coarse, least)) {
    const x = at % widthPx;
    const y = Math.floor(at / widthPx);
    for (let j = y - spreadPx; j <= y + spreadPx; j++)
      for (let i = x - spreadPx; i <= x + spreadPx; i++)
        if (wanted.has(i, j)) wanted.add(i, j, bits[coarse.directionAt(x, y)]);
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
export function cellsNeeded(wanted: WantedPlaces, spacingPx: number): NeededCells {
  const across = Math.ceil(wanted.size.widthPx / planCellPx) + 1;
  const down = Math.ceil(wanted.size.heightPx / planCellPx) + 1;
  const cells = new Uint8Array(across * down);
  const perCell = planCellPx / 2;
  wanted.forEach((i, j) => {
    cells[Math.floor(j / perCell) * across + Math.floor(i / perCell)] = 1;
  });
  const reach = Math.ceil(reachOfWanted(spacingPx) / planCellPx);
  const wide = spread(cells, across, down, reach, 1, across);
  const both = spread(wide, down, across, reach, across, 1);
  return { cells: both, across };
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
