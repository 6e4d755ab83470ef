import type { PlanGrid } from '../../images/plan-sampling.js';
import { distanceInside } from '../../opencv/distance-inside.js';
import type { SeenPlan } from './see-plan.js';

/** Each photo's share of the plan picture at every place of a coarse grid; the shares of a place that is seen sum to 1. */
export type PhotoShares = readonly Float32Array[];

/**
 * One photo goes over into the next within this much of the border between them, either way. What does not lie at the
 * height of the picture is seen twice there, so not much.
 */
const crossFadeMm = 8;
/** Other photos are drawn only where the primary one shows nothing, or far less: few borders. */
const primaryAdvantage = 3;

/**
 * Divides the plan among the photos: each place to the photo that sees it best (finest, and not close to its rim), with
 * soft borders.
 * @param seen what each photo sees of the coarse grid
 * @returns null when no photo but the primary one has a place
 */
export async function photoShares(
  seen: readonly SeenPlan[],
  primary: number,
  grid: PlanGrid,
): Promise<PhotoShares | null> {
  const { widthPx, heightPx, mmPerPx } = grid;
  const places = widthPx * heightPx;
  const winner = new Int32Array(places).fill(-1);
  for (let i = 0; i < places; i++) {
    let best = 0;
    for (let k = 0; k < seen.length; k++) {
      const merit = seen[k].pxPerMm[i] * rimFactor(seen[k].rimPx[i]) * (k === primary ? primaryAdvantage : 1);
      if (merit <= best) continue;
      best = merit;
      winner[i] = k;
    }
  }
  if (winner.every((w) => w === primary || w < 0)) return null;
  const shares = seen.map(() => new Float32Array(places));
  for (let k = 0; k < seen.length; k++) {
    const own = Uint8Array.from(winner, (w) => (w === k ? 1 : 0));
    const others = own.map((v) => 1 - v);
    const inside = await distanceInside({ widthPx, heightPx, channels: 1, data: own });
    const outside = await distanceInside({ widthPx, heightPx, channels: 1, data: others });
    for (let i = 0; i < places; i++) {
      if (seen[k].pxPerMm[i] === 0) continue;
      // The border lies half a place beyond the outermost own place.
      const within = own[i] ? (inside[i] - 0.5) * mmPerPx : (0.5 - outside[i]) * mmPerPx;
      shares[k][i] = Math.max(0, Math.min(1, 0.5 + within / (2 * crossFadeMm)));
    }
  }
  for (let i = 0; i < places; i++) {
    const sum = shares.reduce((s, share) => s + share[i], 0);
    if (sum > 0) for (const share of shares) share[i] /= sum;
  }
  return shares;
}

/** Towards a photo's rim the lens is least known and the picture may end: its merit falls over the last 120 px. */
function rimFactor(rimPx: number): number {
  return Math.max(0.05, Math.min(1, rimPx / 120));
}
