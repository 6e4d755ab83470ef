import type { Report, ReportSide } from '../contract/report.js';
import type { LaidRun, Point, Stroke } from './laid-track.js';

/** A place on the centre rail that can be found again with a tape from two table edges. */
export interface Station {
  /** Counts through all runs, in the order of laying. */
  readonly number: number;
  readonly run: string;
  readonly what: string;
  readonly at: Point;
  /** Square distances from two table edges that do not run alike, the nearer one first; fewer where the table shows fewer. */
  readonly offsets: readonly { readonly side: string; readonly lengthMm: number }[];
}

/** Edges must cross at more than this angle to fix a place. */
const leastAngleRad = Math.PI / 6;
const longStraightMm = 1500;

/**
 * Stations of all runs: ends of straights, middles of turns, and the middle of very long straights. A closed run is laid
 * from its longest straight on, an open one from its first end.
 */
export function tapeStations(report: Report, runs: readonly LaidRun[]): Station[] {
  const sides = report.table.sides.filter((s) => s.seen !== false);
  const usable = sides.length >= 2 ? sides : report.table.sides;
  let number = 0;
  return runs.flatMap((run) =>
    placesOf(run).map(({ what, at }) => {
      number += 1;
      return { number, run: run.id, what, at, offsets: offsetsOf(at, usable) };
    }),
  );
}

interface Place {
  readonly what: string;
  readonly at: Point;
}

function placesOf(run: LaidRun): Place[] {
  const groups = groupTurns(startingWell(run));
  const places: Place[] = [];
  groups.forEach((group, i) => {
    const first = group[0];
    const last = group[group.length - 1];
    if (i === 0)
      places.push({ what: first.kind === 'straight' ? 'start of the straight' : 'start of the turn', at: first.from });
    places.push(...middleOf(group));
    const next = groups[i + 1];
    const closes = run.closed && i === groups.length - 1;
    if (closes && Math.hypot(last.to[0] - places[0].at[0], last.to[1] - places[0].at[1]) < 30) return;
    places.push({ what: endWords(last, next?.[0] ?? null), at: last.to });
  });
  return places;
}

function middleOf(group: readonly Stroke[]): Place[] {
  const first = group[0];
  if (first.kind === 'straight') {
    const length = Math.hypot(first.to[0] - first.from[0], first.to[1] - first.from[1]);
    if (length < longStraightMm) return [];
    return [
      { what: 'middle of the straight', at: [(first.from[0] + first.to[0]) / 2, (first.from[1] + first.to[1]) / 2] },
    ];
  }
  const half = group.length / 2;
  if (Number.isInteger(half)) return [{ what: 'joint in the middle of the turn', at: group[half].from }];
  const middle = group[Math.floor(half)];
  return [{ what: 'middle of the turn', at: middle.kind === 'curve' ? middleOfCurve(middle) : middle.from }];
}

function middleOfCurve(curve: Extract<Stroke, { kind: 'curve' }>): Point {
  const start = Math.atan2(curve.from[1] - curve.centre[1], curve.from[0] - curve.centre[0]);
  const radius = Math.hypot(curve.from[0] - curve.centre[0], curve.from[1] - curve.centre[1]);
  const angle = start + curve.sweepRad / 2;
  return [curve.centre[0] + radius * Math.cos(angle), curve.centre[1] + radius * Math.sin(angle)];
}

function endWords(ended: Stroke, next: Stroke | null): string {
  if (next === null) return ended.kind === 'straight' ? 'end of the straight' : 'end of the turn';
  if (ended.kind === 'straight') return next.kind === 'curve' ? 'straight meets turn' : 'end of the straight';
  return next.kind === 'curve' ? 'turn meets turn' : 'turn meets straight';
}

/** Neighbouring curves to the same side with nearly the same radius are one turn. */
function groupTurns(strokes: readonly Stroke[]): Stroke[][] {
  const groups: Stroke[][] = [];
  for (const stroke of strokes) {
    const before = groups.at(-1)?.at(-1);
    const joins =
      before?.kind === 'curve' &&
      stroke.kind === 'curve' &&
      Math.sign(before.sweepRad) === Math.sign(stroke.sweepRad) &&
      Math.abs(before.radiusMm - stroke.radiusMm) < 0.05 * before.radiusMm;
    if (joins) groups[groups.length - 1].push(stroke);
    else groups.push([stroke]);
  }
  return groups;
}

function startingWell(run: LaidRun): readonly Stroke[] {
  if (!run.closed) return run.strokes;
  let first = 0;
  let longest = 0;
  run.strokes.forEach((stroke, i) => {
    const length =
      stroke.kind === 'straight' ? Math.hypot(stroke.to[0] - stroke.from[0], stroke.to[1] - stroke.from[1]) : 0;
    if (length > longest) {
      longest = length;
      first = i;
    }
  });
  return [...run.strokes.slice(first), ...run.strokes.slice(0, first)];
}

/** Square distances to the nearest edge and to the nearest one that crosses it well. */
export function offsetsOf(at: Point, sides: readonly ReportSide[]): { side: string; lengthMm: number }[] {
  const near = sides
    .map((side) => ({ side, lengthMm: squareDistance(at, side) }))
    .sort((a, b) => a.lengthMm - b.lengthMm);
  const first = near[0];
  if (first === undefined) return [];
  const second = near.find(
    (n) => Math.abs(Math.sin(headingOf(n.side) - headingOf(first.side))) > Math.sin(leastAngleRad),
  );
  return [first, ...(second === undefined ? [] : [second])].map((n) => ({ side: n.side.name, lengthMm: n.lengthMm }));
}

function squareDistance(at: Point, side: ReportSide): number {
  const dx = side.to[0] - side.from[0];
  const dy = side.to[1] - side.from[1];
  const length = Math.hypot(dx, dy) || 1;
  return Math.abs(dx * (at[1] - side.from[1]) - dy * (at[0] - side.from[0])) / length;
}

function headingOf(side: ReportSide): number {
  return Math.atan2(side.to[1] - side.from[1], side.to[0] - side.from[0]);
}
