import type { CentreLine } from '../../scene/rail-joint.js';
import type { RailTrace, TraceSample } from '../../scene/rail-trace.js';

/** A run's centre line: the middle of its rails, evenly spaced, bridged straight where they were not seen. */
export function centreLineOf(trace: RailTrace): CentreLine {
  const places = evenly(smoothed(middleLine(trace), trace.closed, 6), trace.closed, 4);
  return { stepMm: places.stepMm, closed: trace.closed, places: withHeadings(places.points, trace.closed) };
}

/** Longest row of samples without rails that is bridged from its ends; beyond, the samples' own places are kept. */
const longestBridgeMm = 160;

/** The middle of the rails at each sample; where none were seen, between the neighbours that show some. */
export function middleLine(trace: RailTrace): { x: number; y: number }[] {
  const n = trace.samples.length;
  const own = trace.samples.map((sample) => middleOf(sample));
  const reach = Math.round(longestBridgeMm / trace.stepMm);
  const near = (i: number, towards: 1 | -1): number => {
    for (let d = 1; d <= reach; d++) {
      const j = i + towards * d;
      if (!trace.closed && (j < 0 || j >= n)) return 0;
      if (own[((j % n) + n) % n]) return d;
    }
    return 0;
  };
  return trace.samples.map((sample, i) => {
    const place = own[i];
    if (place) return place;
    const before = near(i, -1);
    const after = near(i, 1);
    if (before === 0 || after === 0 || before + after > reach) return { x: sample.x, y: sample.y };
    const a = own[(((i - before) % n) + n) % n] as { x: number; y: number };
    const b = own[(i + after) % n] as { x: number; y: number };
    const t = before / (before + after);
    return { x: a.x + t * (b.x - a.x), y: a.y + t * (b.y - a.y) };
  });
}

/** Rails that contradict each other by more than this are not the three of one track, millimetres. */
const agreeMm = 1.2;

function middleOf(sample: TraceSample): { x: number; y: number } | null {
  const seen = sample.sidewaysMm.filter((v) => !Number.isNaN(v)).sort((a, b) => a - b);
  if (seen.length < 2 || seen[seen.length - 1] - seen[0] > agreeMm) return null;
  const shift = seen[seen.length >> 1];
  return {
    x: sample.x - shift * Math.sin(sample.headingRad),
    y: sample.y + shift * Math.cos(sample.headingRad),
  };
}

function smoothed(
  points: readonly { x: number; y: number }[],
  closed: boolean,
  times: number,
): { x: number; y: number }[] {
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

/** Points a fixed length apart along a polyline; on closed lines the step is made to fit a whole number of times. */
function evenly(
  points: readonly { x: number; y: number }[],
  closed: boolean,
  wishedMm: number,
): { points: { x: number; y: number }[]; stepMm: number } {
  const all = closed ? [...points, points[0]] : points;
  const along = [0];
  for (let i = 1; i < all.length; i++)
    along.push(along[i - 1] + Math.hypot(all[i].x - all[i - 1].x, all[i].y - all[i - 1].y));
  const total = along[along.length - 1];
  const count = Math.max(2, Math.round(total / wishedMm));
  const stepMm = total / count;
  const out: { x: number; y: number }[] = [];
  let i = 0;
  for (let k = 0; k < (closed ? count : count + 1); k++) {
    const s = k * stepMm;
    while (i + 2 < all.length && along[i + 1] < s) i++;
    const t = (s - along[i]) / Math.max(1e-9, along[i + 1] - along[i]);
    out.push({ x: all[i].x + t * (all[i + 1].x - all[i].x), y: all[i].y + t * (all[i + 1].y - all[i].y) });
  }
  return { points: out, stepMm };
}

function withHeadings(points: readonly { x: number; y: number }[], closed: boolean): CentreLine['places'] {
  const n = points.length;
  return points.map((p, i) => {
    const a = points[closed ? (i + n - 3) % n : Math.max(0, i - 3)];
    const b = points[closed ? (i + 3) % n : Math.min(n - 1, i + 3)];
    return { x: p.x, y: p.y, headingRad: Math.atan2(b.y - a.y, b.x - a.x) };
  });
}
