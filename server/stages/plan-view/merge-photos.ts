import { colourPlan, type PlanGrid, walkPlan } from '../../images/plan-sampling.js';
import type { Raster } from '../../images/raster.js';
import { codesWithFactor, lightFactors, type PlacedPhoto } from './match-light.js';
import { photoShares } from './photo-shares.js';
import { seePlan } from './see-plan.js';

/** One place of the coarse grid covers so many plan pixels each way. */
const coarsePx = 8;

/**
 * The table from above, put together from several photos: each place from the photo that shows it best, in the light of
 * the primary photo, with soft borders; white where no photo looks. The primary photo is preferred.
 * @param primary index of the photo that the runs are taken from
 */
export async function mergePhotos(
  photos: readonly PlacedPhoto[],
  primary: number,
  grid: PlanGrid,
  heightMm: number,
): Promise<Raster> {
  const coarse: PlanGrid = {
    x0: grid.x0,
    y1: grid.y1,
    mmPerPx: grid.mmPerPx * coarsePx,
    widthPx: Math.ceil((grid.widthPx - 1) / coarsePx) + 1,
    heightPx: Math.ceil((grid.heightPx - 1) / coarsePx) + 1,
  };
  const seen = photos.map(({ camera, raster }) => seePlan(camera, raster, coarse, heightMm));
  const shares = await photoShares(seen, primary, coarse);
  if (shares === null) return colourPlan(photos[primary].raster, photos[primary].camera, grid, heightMm);
  const factors = lightFactors(photos, seen, primary, coarse, heightMm);
  const sum = new Float32Array(grid.widthPx * grid.heightPx * 3);
  const weight = new Float32Array(grid.widthPx * grid.heightPx);
  photos.forEach((photo, k) => {
    addPhoto(photo, factors[k].map(codesWithFactor), shares[k], coarse.widthPx, grid, heightMm, sum, weight);
  });
  const data = new Uint8Array(sum.length).fill(255);
  for (let i = 0; i < weight.length; i++) {
    if (weight[i] < 1e-3) continue;
    for (let c = 0; c < 3; c++) data[3 * i + c] = sum[3 * i + c] / weight[i] + 0.5;
  }
  return { widthPx: grid.widthPx, heightPx: grid.heightPx, channels: 3, data };
}

/** Adds one photo's part, sampled linearly, to the sums of codes and weights. */
function addPhoto(
  { raster, camera }: PlacedPhoto,
  codes: readonly Float32Array[],
  share: Float32Array,
  shareWidth: number,
  grid: PlanGrid,
  heightMm: number,
  sum: Float32Array,
  weight: Float32Array,
): void {
  const part = partWithShare(share, shareWidth, grid);
  if (part === null) return;
  const { data, widthPx, heightPx } = raster;
  const [red, green, blue] = codes;
  walkPlan(camera, part.grid, heightMm, (index, px, py) => {
    if (!(px >= 0 && py >= 0 && px < widthPx - 1 && py < heightPx - 1)) return;
    const i = part.left + (index % part.grid.widthPx);
    const j = part.top + Math.floor(index / part.grid.widthPx);
    const w = shareAt(share, shareWidth, i / coarsePx, j / coarsePx);
    if (w === 0) return;
    const x = px | 0;
    const y = py | 0;
    const at = (y * widthPx + x) * 3;
    const below = at + widthPx * 3;
    const [fx, fy] = [px - x, py - y];
    const [a, b, c, d] = [w * (1 - fx) * (1 - fy), w * fx * (1 - fy), w * (1 - fx) * fy, w * fx * fy];
    const to = j * grid.widthPx + i;
    weight[to] += w;
    sum[3 * to] += a * red[data[at]] + b * red[data[at + 3]] + c * red[data[below]] + d * red[data[below + 3]];
    sum[3 * to + 1] +=
      a * green[data[at + 1]] + b * green[data[at + 4]] + c * green[data[below + 1]] + d * green[data[below + 4]];
    sum[3 * to + 2] +=
      a * blue[data[at + 2]] + b * blue[data[at + 5]] + c * blue[data[below + 2]] + d * blue[data[below + 5]];
  });
}

/** Linear between the places of the coarse grid. */
function shareAt(share: Float32Array, width: number, x: number, y: number): number {
  const x0 = x | 0;
  const y0 = y | 0;
  const at = y0 * width + x0;
  const [fx, fy] = [x - x0, y - y0];
  // The grid reaches at least as far as the last pixel: there the next place has no weight.
  const right = fx === 0 ? at : at + 1;
  const down = fy === 0 ? 0 : width;
  return (
    (1 - fy) * ((1 - fx) * share[at] + fx * share[right]) +
    fy * ((1 - fx) * share[at + down] + fx * share[right + down])
  );
}

/** The part of the plan in which a photo has a share, as a grid of its own, and where it lies in the plan. */
function partWithShare(share: Float32Array, shareWidth: number, grid: PlanGrid) {
  let [x0, x1, y0, y1] = [Number.POSITIVE_INFINITY, -1, Number.POSITIVE_INFINITY, -1];
  share.forEach((w, i) => {
    if (w === 0) return;
    const [x, y] = [i % shareWidth, Math.floor(i / shareWidth)];
    [x0, x1, y0, y1] = [Math.min(x0, x), Math.max(x1, x), Math.min(y0, y), Math.max(y1, y)];
  });
  if (x1 < 0) return null;
  const left = Math.max(0, (x0 - 1) * coarsePx);
  const top = Math.max(0, (y0 - 1) * coarsePx);
  const part: PlanGrid = {
    x0: grid.x0 + left * grid.mmPerPx,
    y1: grid.y1 - top * grid.mmPerPx,
    mmPerPx: grid.mmPerPx,
    widthPx: Math.min(grid.widthPx, (x1 + 1) * coarsePx + 1) - left,
    heightPx: Math.min(grid.heightPx, (y1 + 1) * coarsePx + 1) - top,
  };
  return { grid: part, left, top };
}
