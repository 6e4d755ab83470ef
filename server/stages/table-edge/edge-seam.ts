import type { CurveProfiles } from './curve-profiles.js';
import { alongMm, type EdgeCurve, movedBy } from './edge-places.js';
import { evaluatePolynomial } from './polynomial.js';
import { leastDepthMm } from './side-face.js';
import {
  agreeing,
  blursPx,
  colourLooks,
  fitPair,
  fitSingles,
  type PairFits,
  pairsGaining,
  ratioOf,
  robustLine,
  segmentsOf,
} from './side-segments.js';
import { Workspace } from './step-fit.js';
import type { LineProjector } from './table-lines.js';

/** A thin line along the very edge: the joint of the last board, a groove, a worn rim. It belongs to the table top. */
export interface EdgeSeam {
  /** The edge, on the outer side of the thin line. */
  readonly curve: EdgeCurve;
  /** Width of the line, mm. */
  readonly widthMm: number;
  /** Whether it is there for sure; if not, the edge may as well be where the curve was. */
  readonly sure: boolean;
  /** How far the edge lies from where the curve was, mm. */
  readonly asideMm: number;
}

/** Widths tried, millimetres: joints between boards and their chamfers (common practice, no source). */
const widthsMm = [0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.15, 1.3, 1.5, 1.75, 2];
const leastWidthPx = 1.2;
const mostWidthPx = 9;
/** What is this much thinner than the thinnest table top's face would appear is no face, whatever the camera sees. */
const faceShare = 0.6;
/**
 * How much the logarithm of the residual variances (three channels) must fall, in most of the segments, against a single
 * step that sharpening has drawn. Of 254 sides of pictures with truth, lines that are none gained up to 3.9, but for two
 * that gained 5.6 and 9.9; lines that are there 2.9 to 6.6.
 */
const sureGain = 4;
const leastGain = 2;
/** The inner step less than this share of the outer is a sharpened edge's overshoot … */
const leastShare = 0.5;
/** … and one so many times as high is the edge itself, what lies beyond it the floor's shade. */
const mostShare = 5;

/** How many photo pixels a millimetre outwards is, near a place of the curve. */
export function pxPerMmAt(projector: LineProjector, curve: EdgeCurve, along: number): number {
  const a = projector.project(curve.line, along * alongMm, -2);
  const b = projector.project(curve.line, along * alongMm, 2);
  return a && b ? Math.hypot(b.x - a.x, b.y - a.y) / 4 : 0;
}

/**
 * Looks for a thin line of even width along the edge, of which the curve may lie on the inner border or the outer one, and
 * puts the curve on the outer. It is thinner than any table top's side face; and the floor, far below, throws no line
 * that keeps its width in millimetres of the table. Null when there is surely none.
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
  const singles = fitSingles(w, list);
  let best: (PairFits & { readonly widthMm: number }) | null = null;
  // A line widens what a single step takes for blur.
  const blurs = blursPx.filter((blurPx) => blurPx <= singles.blurPx);
  for (const colour of colourLooks(singles))
    for (const blurPx of blurs)
      for (const widthMm of widthsMm) {
        const width = widthMm * pxPerMm[middle];
        if (width < leastWidthPx || width > mostPx) continue;
        const pairs = pairsGaining(best?.gain ?? leastGain, list, singles.misfits, (s, i) =>
          fitPair(w, s, -widthMm * pxPerMm[i], widthMm * pxPerMm[i], blurPx, colour),
        );
        if (!pairs || (best && pairs.gain <= best.gain)) continue;
        const ratio = ratioOf(pairs.fits);
        if (ratio >= leastShare && ratio <= mostShare) best = { ...pairs, widthMm };
      }
  if (!best) return null;
  const moved = robustLine(list, best.fits);
  if (!moved || !agreeing(list, best.fits, moved)) return null;
  const asideMm = Math.abs(evaluatePolynomial(moved, list[middle].along)) / pxPerMm[middle];
  return { curve: movedBy(curve, moved), widthMm: best.widthMm, sure: best.gain >= sureGain, asideMm };
}
