import type { Place } from './rail-merit.js';

type Spot = { readonly x: number; readonly y: number };

/** Repeated means of three, the middle counted twice: straight lines stay straight, and ends of open ones where they are. */
export function smoothed(points: readonly Spot[], closed: boolean, times: number): Spot[] {
  let now = [...points];
  const n = points.length;
  for (let k = 0; k < times; k++)
    now = now.map((p, i) => {
      if (!closed && (i === 0 || i === n - 1)) return p;
      const a = now[(i + n - 1) % n];
      const b = now[(i + 1) % n];
      return { x: (a.x + 2 * p.x + b.x) / 4, y: (a.y + 2 * p.y + b.y) / 4 };
    });
  return now;
}

/**
 * The same without drawing curves in: what the means take away from the line is smoothed too and added again ("twicing",
 * Tukey 1977, Exploratory Data Analysis, chapter 16).
 */
export function smoothedTwice(points: readonly Spot[], closed: boolean, times: number): Spot[] {
  const smooth = smoothed(points, closed, times);
  const left = smoothed(
    points.map((p, i) => ({ x: p.x - smooth[i].x, y: p.y - smooth[i].y })),
    closed,
    times,
  );
  return smooth.map((p, i) => ({ x: p.x + left[i].x, y: p.y + left[i].y }));
}

/** So many points before and behind one tell its heading. */
const headingReach = 3;

/** Evenly spaced points of a line with their headings. */
export function withHeadings(points: readonly Spot[], closed: boolean): Place[] {
  const n = points.length;
  return points.map((p, i) => {
    const a = points[closed ? (i + n - headingReach) % n : Math.max(0, i - headingReach)];
    const b = points[closed ? (i + headingReach) % n : Math.min(n - 1, i + headingReach)];
    return { x: p.x, y: p.y, headingRad: Math.atan2(b.y - a.y, b.x - a.x) };
  });
}
