import type { Raster } from '../../images/raster.js';
import { darkMmOfJointsAlong } from './board-joints.js';
import type { CurveProfiles } from './curve-profiles.js';
import { alongMm, type EdgeCurve, movedBy } from './edge-places.js';
import {
  agreeing,
  blursPx,
  fitPair,
  type PairFits,
  pairsGaining,
  robustLine,
  segmentsOf,
  singleMisfits,
} from './side-segments.js';
import { Workspace } from './step-fit.js';
import type { LineProjector } from './table-lines.js';

/** The joint of the last board, which lies along the very edge. It belongs to the table top. */
export interface EdgeSeam {
  /** The edge, on the outer side of the joint. */
  readonly curve: EdgeCurve;
  /** Width of the joint, mm, and the share of the boards' light that it takes. */
  readonly widthMm: number;
  readonly takenShare: number;
}

/** Shares of the light that joints take: from shallow grooves to open ones (common practice, no source). */
const takenShares = [0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95];
const mostWidthPx = 9;
/**
 * How much the logarithm of the residual variances (three channels) may rise against a single step of free height, in most
 * of the segments: a floor as dark as the joint shows one step only.
 */
const leastGain = -1;

/** How many photo pixels a millimetre outwards is, near a place of the curve. */
export function pxPerMmAt(projector: LineProjector, curve: EdgeCurve, along: number): number {
  const a = projector.project(curve.line, along * alongMm, -2);
  const b = projector.project(curve.line, along * alongMm, 2);
  return a && b ? Math.hypot(b.x - a.x, b.y - a.y) / 4 : 0;
}

/**
 * Where the joints between the boards of the table top run along the side, and one of them would lie on it: puts the curve,
 * which may lie on that joint's inner border, on the outer. Null where it is a plain edge.
 */
export function findEdgeSeam(raster: Raster, across: CurveProfiles, projector: LineProjector): EdgeSeam | null {
  const { curve } = across;
  const list = segmentsOf(across, 2 * mostWidthPx + 4);
  if (list.length === 0) return null;
  const darkMm = darkMmOfJointsAlong(raster, projector, curve);
  if (!darkMm) return null;
  const pxPerMm = list.map((s) => pxPerMmAt(projector, curve, s.along));
  const w = new Workspace();
  const without = singleMisfits(w, list);
  let best: (PairFits & { readonly widthMm: number; readonly takenShare: number }) | null = null;
  for (const takenShare of takenShares) {
    const widthMm = darkMm / takenShare;
    for (const blurPx of blursPx) {
      const pairs = pairsGaining(best?.gain ?? leastGain, list, without, (s, i) =>
        fitPair(w, s, -widthMm * pxPerMm[i], widthMm * pxPerMm[i], blurPx, takenShare),
      );
      if (pairs && (!best || pairs.gain > best.gain)) best = { ...pairs, widthMm, takenShare };
    }
  }
  if (!best) return null;
  const moved = robustLine(list, best.fits);
  if (!moved || !agreeing(list, best.fits, moved)) return null;
  return { curve: movedBy(curve, moved), widthMm: best.widthMm, takenShare: best.takenShare };
}
