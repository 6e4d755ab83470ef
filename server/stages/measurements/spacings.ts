import type { MeasuredLayout, MeasuredPiece, MeasuredRun } from '../../scene/measured-layout.js';
import { pointOnArc } from '../../scene/track-observation.js';
import type { Estimate } from '../../units/estimate.js';
import { distanceU, placeOnPiece } from './distances.js';
import { seenAt } from './seen-at.js';

export interface Spacing {
  readonly runs: [string, string];
  readonly distance: Estimate;
  readonly at: [number, number];
  readonly seen: { photo: string; px: [number, number] }[];
}

/** Tracks farther apart than this, or less parallel, are not side by side. */
const farthestMm = 200;
const parallelRad = (5 * Math.PI) / 180;

/** What two centre rails may be off, one from the other, for want of a perfect model: two crests, each in a light of its own. */
export const railsModelUMm = 0.18;

/** Centre rail to centre rail where two runs lie side by side, every 25 mm along the first. */
export function spacingsBetween(layout: MeasuredLayout): Spacing[] {
  const out: Spacing[] = [];
  for (let i = 0; i < layout.runs.length; i++)
    for (let j = 0; j < layout.runs.length; j++)
      if (i !== j) out.push(...spacings(layout, layout.runs[i], layout.runs[j]));
  return out;
}

function spacings(layout: MeasuredLayout, a: MeasuredRun, b: MeasuredRun): Spacing[] {
  const out: Spacing[] = [];
  for (const piece of a.pieces) {
    if (!piece.seen) continue;
    const length = piece.toS - piece.fromS;
    const count = Math.max(1, Math.ceil(length / 25));
    for (let k = 0; k <= count; k++) {
      const s = piece.fromS + (k / count) * length;
      const p = pointOnArc(piece.arc, s);
      const other = squarePlace(p, b);
      if (other === null) continue;
      const q = placeOnPiece(other.piece, other.s, 0);
      const value = Math.hypot(p.x - q.x, p.y - q.y);
      if (value === 0) continue;
      const u = distanceU(
        layout,
        placeOnPiece(piece, s, 0),
        q,
        [(p.x - q.x) / value, (p.y - q.y) / value],
        railsModelUMm,
      );
      out.push({
        runs: [a.id, b.id],
        distance: { value, u },
        at: [p.x, p.y],
        seen: seenAt(layout, p.x, p.y, layout.track.railTopMm),
      });
    }
  }
  return out;
}

/** The nearest place of a run that is parallel here; null when there is none. */
function squarePlace(
  p: { readonly x: number; readonly y: number; readonly headingRad: number },
  run: MeasuredRun,
): { readonly piece: MeasuredPiece; readonly s: number } | null {
  let best: { piece: MeasuredPiece; s: number; distance: number } | null = null;
  for (const piece of run.pieces) {
    if (!piece.seen) continue;
    const { arc } = piece;
    const dx = p.x - arc.x;
    const dy = p.y - arc.y;
    const forward = dx * Math.cos(arc.headingRad) + dy * Math.sin(arc.headingRad);
    const left = -dx * Math.sin(arc.headingRad) + dy * Math.cos(arc.headingRad);
    const k = arc.curvaturePerMm;
    const s = Math.abs(k) < 1e-7 ? forward : Math.atan2(k * forward, 1 - k * left) / k;
    if (s < piece.fromS - 2 || s > piece.toS + 2) continue;
    const q = pointOnArc(arc, s);
    const turn =
      Math.abs(Math.atan2(Math.sin(2 * (q.headingRad - p.headingRad)), Math.cos(2 * (q.headingRad - p.headingRad)))) /
      2;
    const distance = Math.hypot(q.x - p.x, q.y - p.y);
    if (turn < parallelRad && distance < farthestMm && (best === null || distance < best.distance))
      best = { piece, s, distance };
  }
  return best;
}
