import { alongPiece } from './along-piece.js';
import type { Report } from './report.js';

type Pair = readonly [number, number];

/** Where a place lies on a chain of points: behind which of them, and how far off. */
interface Foot {
  readonly behind: number;
  readonly offMm: number;
}

/**
 * The line of a part that was not seen, along the centre rail of its run: hidden curves are bent too. Straight from end
 * to end where the run is not known.
 * @returns points in the table frame, millimetres, the part's ends first and last
 */
export function alongHidden(report: Report, { run: id, from, to }: Report['notSeen'][number]): Pair[] {
  const run = report.runs.find((r) => r.id === id);
  const line = (run?.pieces ?? []).flatMap((p) => (p.kind === 'straight' ? [p.from, p.to] : alongPiece(p, 0)));
  if (run === undefined || line.length < 2) return [from, to];
  const chain = run.closed ? [...line, line[0]] : line;
  const [first, last] = [footOn(chain, from).behind, footOn(chain, to).behind];
  const between = (a: number, b: number): Pair[] => chain.slice(a + 1, b + 1);
  const direct = first <= last ? between(first, last) : between(last, first).reverse();
  const ways = [[from, ...direct, to]];
  if (run.closed) {
    const [low, high] = [Math.min(first, last), Math.max(first, last)];
    const around = [...chain.slice(high + 1, -1), ...chain.slice(0, low + 1)];
    ways.push([from, ...(first <= last ? around.reverse() : around), to]);
  }
  return ways.reduce((a, b) => (lengthOf(b) < lengthOf(a) ? b : a));
}

function footOn(chain: readonly Pair[], [x, y]: Pair): Foot {
  return chain.slice(1).reduce<Foot>(
    (best, [bx, by], behind) => {
      const [ax, ay] = chain[behind];
      const [dx, dy] = [bx - ax, by - ay];
      const squared = dx * dx + dy * dy;
      const share = squared === 0 ? 0 : Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / squared));
      const offMm = Math.hypot(ax + dx * share - x, ay + dy * share - y);
      return offMm < best.offMm ? { behind, offMm } : best;
    },
    { behind: 0, offMm: Number.POSITIVE_INFINITY },
  );
}

function lengthOf(points: readonly Pair[]): number {
  return points.slice(1).reduce((mm, [x, y], i) => mm + Math.hypot(x - points[i][0], y - points[i][1]), 0);
}
