import type { Report } from '../../server/contract/report.js';
import { halfWidth95 } from '../../server/units/estimate.js';
import type { Pair } from './track-lines.js';

/** One point of a side's profile: the distance from rail to edge over the position along the side. */
export interface ProfilePoint {
  /** Index in the report's profile. */
  readonly index: number;
  readonly alongMm: number;
  readonly distanceMm: number;
  /** Half width of the 95 % interval. */
  readonly halfMm: number;
}

/** Points of one run along one side, in order along the side; a new stretch begins where the track was not seen. */
export interface ProfileStretch {
  readonly run: string;
  readonly points: readonly ProfilePoint[];
}

/** The report's profile has a point every 10 mm at most; a wider step along the side means that something is missing. */
const widestStepMm = 40;

/** The profile of one table side, as curves. */
export function profileOfSide(report: Report, side: string): ProfileStretch[] {
  const line = report.table.sides.find((s) => s.name === side);
  if (!line) return [];
  const runs = [...new Set(report.profile.filter((p) => p.side === side).map((p) => p.run))];
  return runs.flatMap((run) => {
    const points = report.profile
      .map((p, index) => ({ p, index }))
      .filter(({ p }) => p.side === side && p.run === run)
      .map(({ p, index }) => ({
        index,
        alongMm: along(line, p.at),
        distanceMm: p.distance.value,
        halfMm: halfWidth95(p.distance),
      }))
      .sort((a, b) => a.alongMm - b.alongMm);
    return split(points).map((part) => ({ run, points: part }));
  });
}

/** The point nearest to a position along the side, over all stretches; the smaller distance where two runs pass. */
export function profilePointAt(stretches: readonly ProfileStretch[], alongMm: number): ProfilePoint | null {
  let best: ProfilePoint | null = null;
  for (const point of stretches.flatMap((s) => s.points)) {
    const nearer = !best || Math.abs(point.alongMm - alongMm) < Math.abs(best.alongMm - alongMm);
    if (nearer) best = point;
  }
  return best;
}

/** Position along a side of the foot of a point, millimetres from the side's start. */
export function along(side: { readonly from: Pair; readonly to: Pair }, point: Pair): number {
  const dx = side.to[0] - side.from[0];
  const dy = side.to[1] - side.from[1];
  return ((point[0] - side.from[0]) * dx + (point[1] - side.from[1]) * dy) / Math.hypot(dx, dy);
}

function split(points: readonly ProfilePoint[]): ProfilePoint[][] {
  const parts: ProfilePoint[][] = [];
  for (const point of points) {
    const last = parts.at(-1);
    if (last && point.alongMm - (last.at(-1)?.alongMm ?? 0) <= widestStepMm) last.push(point);
    else parts.push([point]);
  }
  return parts;
}

/** Round numbers for a scale from 0 to at least `most`, at most `count` steps. Inches step in whole inches. */
export function scaleSteps(most: number, count: number, unitMm: number): number[] {
  const wanted = most / unitMm / count;
  const power = 10 ** Math.floor(Math.log10(Math.max(wanted, 1e-9)));
  const step = [1, 2, 5, 10].map((n) => n * power).find((n) => n >= wanted) ?? 10 * power;
  const whole = unitMm > 1 ? Math.max(1, Math.ceil(step)) : step;
  const steps: number[] = [];
  for (let value = 0; value * unitMm <= most + whole * unitMm * 0.999; value += whole) steps.push(value * unitMm);
  return steps;
}
