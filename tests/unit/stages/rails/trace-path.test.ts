import { describe, expect, it } from 'vitest';
import type { RailLikeness } from '../../../../server/stages/rails/likeness-tiles.js';
import { tracePaths } from '../../../../server/stages/rails/trace-path.js';

const widthPx = 700;
const heightPx = 300;
const directionCount = 24;
const options = { stepPx: 7.7, bridgePx: 92, halfTrackPx: 20, shortestPx: 92 };

interface Place {
  readonly score: number;
  /** Radians, anticlockwise from the right. */
  readonly direction: number;
}

function likenessOf(at: (x: number, y: number) => Place | null): RailLikeness {
  const scores = Float32Array.from(
    { length: widthPx * heightPx },
    (_, i) => at(i % widthPx, Math.floor(i / widthPx))?.score ?? 0,
  );
  const step = Math.PI / directionCount;
  return {
    widthPx,
    heightPx,
    directionCount,
    scores,
    scoreAt: (x: number, y: number) => scores[y * widthPx + x] ?? 0,
    directionAt: (x: number, y: number) =>
      (Math.round((at(x, y)?.direction ?? 0) / step) + directionCount) % directionCount,
    pixelsAbove: (level: number) => Int32Array.from(scores.keys()).filter((i) => scores[i] > level),
  } as unknown as RailLikeness;
}

/** A straight ridge at y = 150, with a gap beside which little of it is left, led aside by what else is there. */
const strayFrom = 300;
const gapFrom = 326;
const gapTo = 352;
function interrupted(x: number, y: number): Place | null {
  if (x < 30 || x > 660 || (x >= gapFrom && x < gapTo)) return null;
  const aside = x < strayFrom || x >= gapTo ? 0 : 0.12 * (x - strayFrom);
  const off = Math.abs(y - 150 + aside);
  if (off > 3) return null;
  const strong = aside === 0 ? 30 : 7;
  return { score: strong - 2 * off, direction: aside === 0 ? 0 : 0.28 };
}

describe('a path along the ridges of rail likeness', () => {
  it('goes straight on across a gap, beside which what is left of the ridge points elsewhere', () => {
    const paths = tracePaths(likenessOf(interrupted), options);
    expect(paths).toHaveLength(1);
    const xs = paths[0].points.map((p) => p.x);
    expect(Math.min(...xs)).toBeLessThan(50);
    expect(Math.max(...xs)).toBeGreaterThan(640);
    for (const { x, y } of paths[0].points) if (x > gapTo + 40) expect(Math.abs(y - 150)).toBeLessThan(3);
  });

  it('follows a ridge that bends as tight curves do, and closes on itself', () => {
    const ring = (x: number, y: number): Place | null => {
      const [dx, dy] = [x - 350, y - 150];
      const off = Math.abs(Math.hypot(dx, dy) - 120);
      // Square to the radius; rows go down.
      return off > 3 ? null : { score: 30 - 2 * off, direction: Math.atan2(-dy, dx) + Math.PI / 2 };
    };
    const paths = tracePaths(likenessOf(ring), options);
    expect(paths).toHaveLength(1);
    expect(paths[0].closed).toBe(true);
    for (const { x, y } of paths[0].points) expect(Math.abs(Math.hypot(x - 350, y - 150) - 120)).toBeLessThan(4);
  });
});
