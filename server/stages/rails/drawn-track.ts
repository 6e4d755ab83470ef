import type { Camera } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import type { RailTrace, TraceSample } from '../../scene/rail-trace.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { middleLine } from './centre-line.js';
import { defaultFindRailsOptions, followLines } from './find-rails.js';

type Line = readonly { readonly x: number; readonly y: number }[];

/** How far from the rails a finger may draw, millimetres: three rails side by side tell which is the centre one. */
const fingerReachMm = 14;
/** Shares of the samples that must show rails for the line to count as track. */
const leastSeenRatio = 0.35;

/**
 * Follows the rails along a line that a person drew: a smooth curve through its points, moved onto the rails.
 * @param line the centre rail, table frame at the height of the rail axes; a dozen points do for a loop
 * @returns null where no rails are seen along most of it
 */
export function traceAlong(
  raster: Raster,
  photo: number,
  camera: Camera,
  track: TrackProfile,
  line: Line,
  signal?: AbortSignal,
): RailTrace | null {
  const { stepMm } = defaultFindRailsOptions;
  const curve = curveThrough(line);
  if (lengthOf(curve) < 3 * stepMm) return null;
  const how = { sidewaysMm: fingerReachMm, stepMm };
  const [trace] = followLines(raster, photo, camera, track, [{ line: curve, closed: false }], how, signal);
  const { samples } = trace;
  const seen = samples.filter((s) => s.sidewaysMm.filter((v) => !Number.isNaN(v)).length >= track.railCount - 1).length;
  return seen < leastSeenRatio * samples.length || seen < 3 ? null : trace;
}

/** How far the rails lie from the line that was drawn, millimetres: the median. */
export function movedFrom(line: Line, trace: RailTrace): number {
  const curve = curveThrough(line);
  const off = middleLine(trace).map((p) => distanceTo(curve, p.x, p.y));
  off.sort((a, b) => a - b);
  return off[off.length >> 1] ?? 0;
}

/** Distance of a place from a line, millimetres. */
export function distanceTo(line: Line, x: number, y: number): number {
  let best = Number.POSITIVE_INFINITY;
  for (let i = 0; i + 1 < line.length; i++) {
    const [a, b] = [line[i], line[i + 1]];
    const [dx, dy] = [b.x - a.x, b.y - a.y];
    const length2 = dx * dx + dy * dy;
    const t = length2 === 0 ? 0 : Math.min(1, Math.max(0, ((x - a.x) * dx + (y - a.y) * dy) / length2));
    best = Math.min(best, Math.hypot(x - a.x - t * dx, y - a.y - t * dy));
  }
  return line.length === 1 ? Math.hypot(x - line[0].x, y - line[0].y) : best;
}

/** Takes out of a trace what another one now stands for: samples beside it that run in the same direction. */
export function besideTrace(other: RailTrace, withinMm: number): (sample: TraceSample) => boolean {
  return (sample) =>
    other.samples.some(
      (o) =>
        Math.hypot(o.x - sample.x, o.y - sample.y) < withinMm &&
        Math.abs(Math.sin(o.headingRad - sample.headingRad)) < 0.35,
    );
}

/** Cubic through the points, each leaving along the chord of its neighbours (Catmull and Rom 1974), about 8 mm apart. */
export function curveThrough(points: Line): { x: number; y: number }[] {
  const at = (i: number): { x: number; y: number } => {
    if (i < 0) return { x: 2 * points[0].x - points[1].x, y: 2 * points[0].y - points[1].y };
    const n = points.length;
    if (i >= n) return { x: 2 * points[n - 1].x - points[n - 2].x, y: 2 * points[n - 1].y - points[n - 2].y };
    return points[i];
  };
  const out: { x: number; y: number }[] = [{ x: points[0].x, y: points[0].y }];
  for (let i = 0; i + 1 < points.length; i++) {
    const [p0, p1, p2, p3] = [at(i - 1), at(i), at(i + 1), at(i + 2)];
    const steps = Math.max(1, Math.round(Math.hypot(p2.x - p1.x, p2.y - p1.y) / 8));
    for (let k = 1; k <= steps; k++) {
      const t = k / steps;
      const cubic = (a: number, b: number, c: number, d: number): number =>
        b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)));
      out.push({ x: cubic(p0.x, p1.x, p2.x, p3.x), y: cubic(p0.y, p1.y, p2.y, p3.y) });
    }
  }
  return out;
}

function lengthOf(line: Line): number {
  return line.reduce((sum, p, i) => (i === 0 ? 0 : sum + Math.hypot(p.x - line[i - 1].x, p.y - line[i - 1].y)), 0);
}
