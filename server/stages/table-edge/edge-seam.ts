import type { CurveProfiles } from './curve-profiles.js';
import { alongMm, type EdgeCurve, movedBy } from './edge-places.js';
import { leastDepthMm } from './side-face.js';
import {
  agreeing,
  blursPx,
  fitPair,
  median,
  type PairFits,
  pairsGaining,
  ratioOf,
  robustLine,
  segmentsOf,
  singleMisfits,
} from './side-segments.js';
import { type StepFit, Workspace } from './step-fit.js';
import type { LineProjector } from './table-lines.js';

/** A thin line along the very edge: the joint of the last board, a groove, a worn rim. It belongs to the table top. */
export interface EdgeSeam {
  /** The edge, on the outer side of the thin line. */
  readonly curve: EdgeCurve;
  /** Width of the line, mm. */
  readonly widthMm: number;
}

/** Widths tried, millimetres: joints between boards and their chamfers (common practice, no source). */
const widthsMm = [0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.15, 1.3, 1.5, 1.75, 2];
const leastWidthPx = 1.2;
const mostWidthPx = 9;
/** What is this much thinner than the thinnest table top's face would appear is no face, whatever the camera sees. */
const faceShare = 0.6;
/**
 * How much the logarithm of the residual variances (three channels) must fall, in most of the segments. A blur that is no
 * Gaussian, as every phone's sharpening makes it, is worth up to 2.5; lines that are none gained up to 4.7 in 117 pictures
 * with truth, lines that are there 5.4 and more.
 */
const leastGain = 5;
/** What gains so much is a line even where colour alone tells it … */
const gainInColour = 6;
/** … and where its two steps are alike. */
const gainAlike = 7;
/** Two steps of like height, in brightness too, no farther apart than this are one, through a blur that is no Gaussian. */
const mostBlurredPx = 1.35;
const likeHeights = 1.25;
const alikeLightShare = 0.45;
/** The inner step less than this share of the outer is a sharpened edge's overshoot … */
const leastShare = 0.15;
/** … and one so many times as high is the edge itself, what lies beyond it the floor's shade. */
const mostShare = 5;

/**
 * In brightness a step must be at least this share of the other: what white that is nearly clipped, and colour at half the
 * resolution, leave beside a plain edge is up to 0.05.
 */
const leastLightShare = 0.08;

function lightShareOf(fits: readonly (StepFit | null)[]): number {
  const shares = fits.flatMap((f) => (f ? [f.light.map(Math.abs)] : []));
  return shares.length ? median(shares.map(([a, b]) => Math.min(a, b) / Math.max(a, b, 1e-9))) : 0;
}

/** How many photo pixels a millimetre outwards is, near a place of the curve. */
export function pxPerMmAt(projector: LineProjector, curve: EdgeCurve, along: number): number {
  const a = projector.project(curve.line, along * alongMm, -2);
  const b = projector.project(curve.line, along * alongMm, 2);
  return a && b ? Math.hypot(b.x - a.x, b.y - a.y) / 4 : 0;
}

/**
 * Looks for a thin line of even width along the edge, of which the curve may lie on the inner border or the outer one, and
 * puts the curve on the outer. It is thinner than any table top's side face; and the floor, far below, throws no line
 * that keeps its width in millimetres of the table. Null when there is none.
 */
export function findEdgeSeam(across: CurveProfiles, projector: LineProjector): EdgeSeam | null {
  const { curve } = across;
  const list = segmentsOf(across, 2 * mostWidthPx + 4);
  if (list.length === 0) return null;
  const pxPerMm = list.map((s) => pxPerMmAt(projector, curve, s.along));
  const middle = list.length >> 1;
  const faceWidthPx = projector.faceWidthPx(curve.line, list[middle].along * alongMm, leastDepthMm);
  const mostPx = faceWidthPx > 0 ? Math.min(mostWidthPx, faceShare * faceWidthPx) : mostWidthPx;
  const w = new Workspace();
  const without = singleMisfits(w, list);
  let best: (PairFits & { readonly widthMm: number }) | null = null;
  for (const blurPx of blursPx)
    for (const widthMm of widthsMm) {
      const width = widthMm * pxPerMm[middle];
      if (width < leastWidthPx || width > mostPx) continue;
      const pairs = pairsGaining(best?.gain ?? leastGain, list, without, (s, i) =>
        fitPair(w, s, -widthMm * pxPerMm[i], widthMm * pxPerMm[i], blurPx),
      );
      if (pairs && (!best || pairs.gain > best.gain)) best = { ...pairs, widthMm };
    }
  if (!best) return null;
  const ratio = ratioOf(best.fits);
  if (ratio < leastShare || ratio > mostShare) return null;
  const lightShare = lightShareOf(best.fits);
  if (best.gain < gainInColour && lightShare < leastLightShare) return null;
  const areAlike = Math.abs(Math.log(ratio)) < Math.log(likeHeights) && lightShare > alikeLightShare;
  if (best.gain < gainAlike && areAlike && best.widthMm * pxPerMm[middle] < mostBlurredPx) return null;
  const moved = robustLine(list, best.fits);
  return moved && agreeing(list, best.fits, moved) ? { curve: movedBy(curve, moved), widthMm: best.widthMm } : null;
}
