import type { CentreLine } from '../../scene/rail-joint.js';
import type { RailTrace, TraceSample } from '../../scene/rail-trace.js';
import { smoothed, withHeadings } from './even-line.js';

/** A run's centre line with the place of each of the trace's samples along it, millimetres. */
export interface TraceLine {
  readonly line: CentreLine;
  readonly sampleS: readonly number[];
}

/**
 * A run's centre line: the middle of its rails, evenly spaced, bridged straight where they were not seen. Samples lie
 * near a step apart, not exactly: where a cover was bridged, or a loop's last sample meets its first, they do not.
 */
export function centreLineOf(trace: RailTrace): TraceLine {
  const middle = middleLine(trace);
  const smooth = smoothed(middle, trace.closed, 6);
  const { points, stepMm, along } = evenly(smooth, trace.closed, 4);
  const line = { stepMm, closed: trace.closed, places: withHeadings(points, trace.closed) };
  // Smoothing draws points along the line where samples lie unevenly: each is counted where it was.
  const headings = withHeadings(smooth, trace.closed);
  const sampleS: number[] = [];
  middle.forEach((p, i) => {
    const { x, y, headingRad } = headings[i];
    const own = along[i] + (p.x - x) * Math.cos(headingRad) + (p.y - y) * Math.sin(headingRad);
    sampleS.push(i === 0 ? own : Math.max(own, sampleS[i - 1] + 1e-6));
  });
  if (trace.closed) return { line, sampleS };
  const seen = trace.samples.map((sample) => middleOf(sample) !== null);
  if (!seen.includes(true)) return { line, sampleS };
  const followed = { fromS: sampleS[seen.indexOf(true)], toS: sampleS[seen.lastIndexOf(true)] };
  return { line: { ...line, followed }, sampleS };
}

/** Length once round a closed line. */
function roundMm(line: CentreLine): number {
  return line.places.length * line.stepMm;
}

/** Index of a trace's samples, with fraction, at a place along its centre line; beyond the ends it goes on evenly. */
export function sampleAt({ line, sampleS }: TraceLine, s: number): number {
  const n = sampleS.length;
  const length = line.closed ? roundMm(line) : sampleS[n - 1];
  const turns = line.closed ? Math.floor(s / length) : 0;
  const own = s - turns * length;
  const at = (i: number): number => (i < n ? sampleS[i] : length + sampleS[0]);
  let low = 0;
  let high = line.closed ? n - 1 : n - 2;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (at(middle) <= own) low = middle;
    else high = middle - 1;
  }
  return turns * n + low + (own - at(low)) / Math.max(1e-9, at(low + 1) - at(low));
}

/** Place along the centre line of a sample's index; indices of a closed trace may go round more than once. */
export function placeOfSample({ line, sampleS }: TraceLine, index: number): number {
  const n = sampleS.length;
  if (!line.closed) {
    const i = Math.max(0, Math.min(n - 2, Math.floor(index)));
    return sampleS[i] + (index - i) * (sampleS[i + 1] - sampleS[i]);
  }
  const length = roundMm(line);
  const turns = Math.floor(index / n);
  // A hair less than no turn would be rounded to a whole one.
  const i = Math.min(n - 1, Math.floor(index - turns * n));
  const next = i + 1 < n ? sampleS[i + 1] : length + sampleS[0];
  return turns * length + sampleS[i] + (index - turns * n - i) * (next - sampleS[i]);
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

/** Points a fixed length apart along a polyline; on closed lines the step is made to fit a whole number of times. */
function evenly(
  points: readonly { x: number; y: number }[],
  closed: boolean,
  wishedMm: number,
): { points: { x: number; y: number }[]; stepMm: number; along: number[] } {
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
  return { points: out, stepMm, along };
}
