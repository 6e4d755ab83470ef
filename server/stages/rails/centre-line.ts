import type { CentreLine } from '../../scene/rail-joint.js';
import type { RailTrace, TraceSample } from '../../scene/rail-trace.js';
import { type Arc, alongArc, pointOnArc } from '../../scene/track-observation.js';

/** A run's centre line out of the arcs that were fitted to it, one place for each sample of its trace. */
export function centreLineOf(
  trace: RailTrace,
  spans: readonly { readonly from: number; readonly to: number; readonly arc: Arc }[],
): CentreLine {
  const raw: { x: number; y: number }[] = [];
  const n = trace.samples.length;
  for (const span of spans)
    for (let i = span.from; i < span.to; i++) raw.push(middleOf(trace.samples[i % n], span.arc));
  const places = evenly(smoothed(raw, trace.closed, 6), trace.closed, 4);
  return { stepMm: places.stepMm, closed: trace.closed, places: withHeadings(places.points, trace.closed) };
}

/** Farther from the fitted arc than this, a sample is taken for a mistake. */
const farthestFromArcMm = 4;

/** The middle of the rails at a sample; the arc's own place where the rails were not seen or contradict it. */
function middleOf(sample: TraceSample, arc: Arc): { x: number; y: number } {
  const onArc = pointOnArc(arc, alongArc(arc, sample.x, sample.y));
  const seen = sample.sidewaysMm.filter((v) => !Number.isNaN(v)).sort((a, b) => a - b);
  if (seen.length < 2) return onArc;
  const shift = seen[seen.length >> 1];
  const x = sample.x - shift * Math.sin(sample.headingRad);
  const y = sample.y + shift * Math.cos(sample.headingRad);
  return Math.hypot(x - onArc.x, y - onArc.y) < farthestFromArcMm ? { x, y } : onArc;
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
