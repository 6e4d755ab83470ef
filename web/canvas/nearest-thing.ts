import type { Mark } from './marks.js';
import type { Point } from './view.js';

/** Things drawn small go before things drawn large when both are near. */
const order: Partial<Record<Mark['layer'], number>> = {
  gaps: 0,
  clearances: 1,
  joints: 2,
  profile: 3,
  edge: 4,
  rails: 5,
};

/**
 * The measured thing nearest to a place on the picture.
 * @param reachPx how far it may be, picture pixels
 * @returns its id, or null
 */
export function nearestThing(marks: readonly Mark[], at: Point, reachPx: number): string | null {
  let best: { thing: string; rank: number; distance: number } | null = null;
  for (const mark of marks) {
    const rank = order[mark.layer];
    if (mark.thing === null || rank === undefined) continue;
    const lines = rank === 0 || rank === 2 ? [...mark.lines, joined(mark)] : mark.lines;
    const distance = Math.min(...lines.map((line) => distanceToLine(line, at)));
    if (distance > reachPx) continue;
    if (!best || rank < best.rank || (rank === best.rank && distance < best.distance))
      best = { thing: mark.thing, rank, distance };
  }
  return best?.thing ?? null;
}

/** The middle of a joint counts as part of it: from one end face to the other. */
function joined(mark: Mark): Point[] {
  return mark.lines.map((line) => line[Math.floor(line.length / 2)]);
}

export function distanceToLine(line: readonly Point[], at: Point): number {
  let best = Number.POSITIVE_INFINITY;
  for (let i = 1; i < line.length; i++) {
    const a = line[i - 1];
    const b = line[i];
    const dx = b.x - a.x;
    const dy = b.y - a.y;
    const length2 = dx * dx + dy * dy;
    const t = length2 === 0 ? 0 : Math.min(1, Math.max(0, ((at.x - a.x) * dx + (at.y - a.y) * dy) / length2));
    best = Math.min(best, Math.hypot(at.x - a.x - dx * t, at.y - a.y - dy * t));
  }
  return best;
}
