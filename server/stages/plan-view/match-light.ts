import { type Camera, photoFromTable } from '../../geometry/camera.js';
import { linearFromCode } from '../../images/linear-light.js';
import type { PlanGrid } from '../../images/plan-sampling.js';
import type { Raster } from '../../images/raster.js';
import type { SeenPlan } from './see-plan.js';

/** A photo with its camera in the frame of the plan. */
export interface PlacedPhoto {
  readonly raster: Raster;
  readonly camera: Camera;
}

/** Exposures of one table differ by no more than this factor of linear light; beyond it something else is seen. */
const mostGain = 2.5;
/** Places that two photos must both show before their light is compared. */
const leastShared = 30;

/**
 * Factors of linear light, one for each colour of each photo, that make the photos look as the first one of `order` does
 * where they show the same places: exposure and white balance differ from shot to shot.
 */
export function lightFactors(
  photos: readonly PlacedPhoto[],
  seen: readonly SeenPlan[],
  primary: number,
  grid: PlanGrid,
  heightMm: number,
): (readonly [number, number, number])[] {
  const light = photos.map((photo, k) => lightOfPlaces(photo, seen[k], grid, heightMm));
  const factors: (readonly [number, number, number])[] = photos.map(() => [1, 1, 1]);
  const done = new Set([primary]);
  while (done.size < photos.length) {
    let best: { photo: number; like: number; shared: number[] } | null = null;
    for (let k = 0; k < photos.length; k++) {
      if (done.has(k)) continue;
      for (const like of done) {
        const shared = sharedPlaces(seen[k], seen[like]);
        if (best === null || shared.length > best.shared.length) best = { photo: k, like, shared };
      }
    }
    if (best === null) break;
    const { photo, like, shared } = best;
    done.add(photo);
    if (shared.length < leastShared) continue;
    const factor = (c: number): number => {
      const [theirs, own] = [light[like], light[photo]].map((l) => shared.reduce((s, i) => s + l[3 * i + c], 1e-6));
      const gain = (theirs / own) * factors[like][c];
      return Math.max(1 / mostGain, Math.min(mostGain, gain));
    };
    factors[photo] = [factor(0), factor(1), factor(2)];
  }
  return factors;
}

function sharedPlaces(a: SeenPlan, b: SeenPlan): number[] {
  const places: number[] = [];
  for (let i = 0; i < a.pxPerMm.length; i++) if (a.pxPerMm[i] > 0 && b.pxPerMm[i] > 0) places.push(i);
  return places;
}

/** Linear light of red, green and blue at each place that the photo shows, by its nearest pixel. */
function lightOfPlaces(photo: PlacedPhoto, seen: SeenPlan, grid: PlanGrid, heightMm: number): Float32Array {
  const { raster, camera } = photo;
  const light = new Float32Array(3 * seen.pxPerMm.length);
  for (let i = 0; i < seen.pxPerMm.length; i++) {
    if (seen.pxPerMm[i] === 0) continue;
    const x = grid.x0 + (i % grid.widthPx) * grid.mmPerPx;
    const y = grid.y1 - Math.floor(i / grid.widthPx) * grid.mmPerPx;
    const p = photoFromTable(camera, x, y, heightMm);
    const at = 3 * (Math.round(p.y) * raster.widthPx + Math.round(p.x));
    for (let c = 0; c < 3; c++) light[3 * i + c] = linearFromCode[raster.data[at + c]];
  }
  return light;
}

/** Codes after a factor of linear light, for each of the 256 codes. */
export function codesWithFactor(factor: number): Float32Array {
  return Float32Array.from(linearFromCode, (light) => {
    const l = Math.min(1, light * factor);
    return 255 * (l <= 0.0031308 ? 12.92 * l : 1.055 * l ** (1 / 2.4) - 0.055);
  });
}
