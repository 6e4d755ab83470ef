import type { CurveProfiles } from './curve-profiles.js';
import { alongMm, type EdgeCurve, movedBy } from './edge-places.js';
import {
  agreeing,
  blursPx,
  fitPair,
  type PairFits,
  pairsGaining,
  ratioOf,
  robustLine,
  segmentsOf,
  singleMisfits,
} from './side-segments.js';
import { Workspace } from './step-fit.js';
import type { LineProjector } from './table-lines.js';

/** The side of the table top, seen by a camera beyond the edge. */
export interface SideFace {
  /** The upper edge. */
  readonly curve: EdgeCurve;
  readonly depthMm: number;
}

/** Thicknesses of table tops tried (common practice, no source), millimetres. */
const depthsMm = [8, 10, 12, 14, 16, 18, 20, 22, 25, 28, 32, 36, 40, 45];
/**
 * What a narrow face is like, sharpened as a photo is, hardly tells how wide it is. Then a usual thickness counts, and others by
 * so much less, in the units of `leastGain`, for a factor of e (common practice, no source).
 */
const usualDepthMm = 20;
const unusualLoss = 1.2;
const lossOf = (depthMm: number): number => unusualLoss * Math.log(depthMm / usualDepthMm) ** 2;
/** No table top is thinner than this (common practice, no source), millimetres. */
export const leastDepthMm = depthsMm[0];
/** A face narrower than this cannot be told from a sharpened edge. */
const leastWidthPx = 1.2;
/** A wider face is found as a step of its own. */
const mostWidthPx = 14;
/** How much the logarithm of the residual variances (three channels) must fall, in most of the segments. */
const leastGain = 0.7;
/** Where the face's lower edge is so much stronger than its upper one, the upper one is but grain of the table top. */
const mostLowerOverUpper = 3;
/** And the other way round: then what is fitted is a sharpened edge's overshoot. */
const leastLowerOverUpper = 0.1;

/**
 * Looks for the face of the table top's side where the camera, as it is known, must see it, and puts the curve on the
 * face's upper edge. One thickness serves for the whole side. Null when no face is seen.
 */
export function findSideFace(across: CurveProfiles, projector: LineProjector): SideFace | null {
  const { curve } = across;
  const list = segmentsOf(across, 2 * mostWidthPx);
  if (list.length === 0) return null;
  const widthAt = (along: number, depthMm: number): number =>
    projector.faceWidthPx(curve.line, along * alongMm, depthMm);
  const middle = list[list.length >> 1].along;
  if (widthAt(middle, depthsMm[depthsMm.length - 1]) < leastWidthPx) return null;
  const w = new Workspace();
  const without = singleMisfits(w, list);
  let best: (PairFits & { readonly depthMm: number }) | null = null;
  for (const blurPx of blursPx)
    for (const depthMm of depthsMm) {
      const width = widthAt(middle, depthMm);
      if (width < leastWidthPx || width > mostWidthPx) continue;
      const least = best ? Math.max(leastGain, best.gain - lossOf(best.depthMm) + lossOf(depthMm)) : leastGain;
      const pairs = pairsGaining(least, list, without, (s) => {
        const widthPx = widthAt(s.along, depthMm);
        return fitPair(w, s, widthPx, -widthPx, blurPx);
      });
      if (!pairs) continue;
      const ratio = ratioOf(pairs.fits);
      if (ratio < leastLowerOverUpper || ratio > mostLowerOverUpper) continue;
      if (!best || pairs.gain > least) best = { ...pairs, depthMm };
    }
  if (!best) return null;
  const moved = robustLine(list, best.fits);
  return moved && agreeing(list, best.fits, moved) ? { curve: movedBy(curve, moved), depthMm: best.depthMm } : null;
}
