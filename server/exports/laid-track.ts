import type { Plan } from '../contract/plan.js';
import type { Report, ReportPiece, ReportRun } from '../contract/report.js';

export type Point = readonly [number, number];

/** A run as it lies, or as the plan wants it to lie: centre lines in the table frame, millimetres. */
export interface LaidRun {
  readonly id: string;
  readonly closed: boolean;
  /** In laying order. */
  readonly strokes: readonly Stroke[];
}

export type Stroke = CurveStroke | StraightStroke;

export interface CurveStroke {
  readonly kind: 'curve';
  readonly from: Point;
  readonly to: Point;
  readonly centre: Point;
  readonly radiusMm: number;
  /** Left positive. */
  readonly sweepRad: number;
}

export interface StraightStroke {
  readonly kind: 'straight';
  readonly from: Point;
  readonly to: Point;
  /** Place in plan.stretches; null without a plan. */
  readonly stretch: number | null;
  readonly sections: readonly StraightSection[];
}

export interface StraightSection {
  readonly from: Point;
  readonly to: Point;
  readonly lengthMm: number;
  readonly filler: string | null;
}

type Stretch = Plan['stretches'][number];

interface Row {
  readonly pieces: readonly number[];
  readonly stretch: number | null;
}

/**
 * Where the track lies: as measured (plan null), or as planned. A planned point is its measured place + the run's shift
 * + what the stretches before it got longer, along their headings; curves keep their shape and heading.
 */
export function laidTrack(report: Report, plan: Plan | null): LaidRun[] {
  return report.runs.map((run) => laidRun(report, run, plan));
}

function laidRun(report: Report, run: ReportRun, plan: Plan | null): LaidRun {
  const rows = rowsOf(run, plan);
  const count = run.pieces.length;
  const strokes: Stroke[] = [];
  let moved: Point = plan?.shift[run.id] ?? [0, 0];
  const first = rows.find((r) => run.closed && r.pieces.includes(0))?.pieces[0] ?? 0;
  for (let step = 0; step < count; ) {
    const index = (first + step) % count;
    const piece = run.pieces[index];
    if (piece.kind === 'curve') {
      strokes.push(movedCurve(piece, moved));
      const alone = plan === null ? null : stretchBehindCurve(report, run, plan, index);
      if (alone !== null && plan !== null) {
        const stroke = straightStroke(report, run, { pieces: [], stretch: alone }, plan, piece.to, moved);
        strokes.push(stroke);
        moved = add(moved, changeOf(plan.stretches[alone]));
      }
      step += 1;
      continue;
    }
    const row = rows.find((r) => r.pieces[0] === index) ?? { pieces: [index], stretch: null };
    strokes.push(straightStroke(report, run, row, plan, rowStart(report, run, row), moved));
    if (row.stretch !== null && plan !== null) moved = add(moved, changeOf(plan.stretches[row.stretch]));
    step += row.pieces.length;
  }
  return { id: run.id, closed: run.closed, strokes };
}

/** The plan's stretches where there is a plan, and longest rows of the straight pieces that no stretch holds. */
function rowsOf(run: ReportRun, plan: Plan | null): Row[] {
  const planned = (plan?.stretches ?? []).flatMap((s, stretch): Row[] =>
    s.run === run.id && s.pieces.length > 0 ? [{ pieces: s.pieces, stretch }] : [],
  );
  const held = new Set(planned.flatMap((row) => row.pieces));
  return [...planned, ...looseRows(run, (i) => run.pieces[i].kind === 'straight' && !held.has(i))];
}

function looseRows(run: ReportRun, isLoose: (piece: number) => boolean): Row[] {
  const count = run.pieces.length;
  const all = run.pieces.map((_, i) => i);
  const starts = all.filter((i) => {
    const before = i > 0 ? i - 1 : run.closed ? count - 1 : null;
    return isLoose(i) && (before === null || !isLoose(before));
  });
  if (starts.length === 0) return count > 0 && isLoose(0) ? [{ pieces: all, stretch: null }] : [];
  return starts.map((start) => {
    const pieces: number[] = [];
    for (let i = start; isLoose(i) && pieces.length < count; i = (i + 1) % count) {
      pieces.push(i);
      if (!run.closed && i === count - 1) break;
    }
    return { pieces, stretch: null };
  });
}

function straightStroke(
  report: Report,
  run: ReportRun,
  row: Row,
  plan: Plan | null,
  measuredStart: Point,
  moved: Point,
): StraightStroke {
  const from = add(measuredStart, moved);
  const stretch = plan === null || row.stretch === null ? null : plan.stretches[row.stretch];
  if (stretch === null) {
    const last = run.pieces[row.pieces[row.pieces.length - 1]];
    const sections = row.pieces.map((i) => {
      const piece = run.pieces[i];
      return { from: add(piece.from, moved), to: add(piece.to, moved), lengthMm: lengthOf(piece), filler: null };
    });
    return { kind: 'straight', from, to: add(last.to, moved), stretch: null, sections };
  }
  const to = add(add(rowEnd(report, run, row, stretch, measuredStart), moved), changeOf(stretch));
  return { kind: 'straight', from, to, stretch: row.stretch, sections: sectionsAlong(run, stretch, plan, from, to) };
}

/** Sections in running order from end to end; what they do not fill is shared out to the joints between them. */
function sectionsAlong(run: ReportRun, stretch: Stretch, plan: Plan | null, from: Point, to: Point): StraightSection[] {
  const parts = orderOf(stretch).map((part) => {
    if ('filler' in part) {
      const lengthMm = plan?.fillers.find((f) => f.id === part.filler)?.lengthMm ?? 0;
      return { lengthMm, filler: part.filler };
    }
    if ('piece' in part) return { lengthMm: lengthOf(run.pieces[part.piece]), filler: null };
    return { lengthMm: part.lengthMm, filler: null };
  });
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const made = parts.reduce((sum, p) => sum + p.lengthMm, 0);
  const joint = parts.length > 1 ? Math.max(0, (length - made) / (parts.length - 1)) : 0;
  const along: Point = length > 0 ? [(to[0] - from[0]) / length, (to[1] - from[1]) / length] : [1, 0];
  let at = 0;
  return parts.map((part) => {
    const start = at;
    at += part.lengthMm + joint;
    const pointAt = (mm: number): Point => [from[0] + along[0] * mm, from[1] + along[1] * mm];
    return { ...part, from: pointAt(start), to: pointAt(start + part.lengthMm) };
  });
}

function orderOf(stretch: Stretch): NonNullable<Stretch['order']> {
  if (stretch.order !== undefined) return stretch.order;
  return stretch.made.flatMap((part): NonNullable<Stretch['order']> => {
    if ('filler' in part) return [part];
    return Array.from({ length: part.count }, () => ({ lengthMm: part.lengthMm, source: part.source }));
  });
}

/** An open gap between a row and the curve before it belongs to the row. */
function rowStart(report: Report, run: ReportRun, row: Row): Point {
  const own = run.pieces[row.pieces[0]].from;
  const before = neighbour(run, row.pieces[0], -1);
  return before !== null && before.kind === 'curve' && opensBetween(report, run, before.to, own) ? before.to : own;
}

function rowEnd(report: Report, run: ReportRun, row: Row, stretch: Stretch, start: Point): Point {
  if (row.pieces.length === 0) {
    const u: Point = [Math.cos(stretch.headingRad), Math.sin(stretch.headingRad)];
    return [start[0] + u[0] * stretch.nowMm, start[1] + u[1] * stretch.nowMm];
  }
  const lastIndex = row.pieces[row.pieces.length - 1];
  const own = run.pieces[lastIndex].to;
  const after = neighbour(run, lastIndex, 1);
  return after !== null && after.kind === 'curve' && opensBetween(report, run, own, after.from) ? after.from : own;
}

function neighbour(run: ReportRun, index: number, step: 1 | -1): ReportPiece | null {
  const next = index + step;
  if (next >= 0 && next < run.pieces.length) return run.pieces[next];
  return run.closed ? run.pieces[(next + run.pieces.length) % run.pieces.length] : null;
}

function opensBetween(report: Report, run: ReportRun, a: Point, b: Point): boolean {
  const middle: Point = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  return report.joints.some(
    (j) => j.open && j.run === run.id && Math.hypot(j.at[0] - middle[0], j.at[1] - middle[1]) < 5 + j.gap.value / 2,
  );
}

/** A stretch without pieces fills the gap between two curves: it is found by the joint that its filler closes. */
function stretchBehindCurve(report: Report, run: ReportRun, plan: Plan, curve: number): number | null {
  const found = plan.stretches.findIndex((stretch) => {
    if (stretch.run !== run.id || stretch.pieces.length > 0) return false;
    const ids = stretch.made.flatMap((m) => ('filler' in m ? [m.filler] : []));
    const joint = report.joints.find((j) => plan.fillers.some((f) => ids.includes(f.id) && f.joint === j.id));
    return joint?.pieces?.[0] === curve;
  });
  return found < 0 ? null : found;
}

function movedCurve(piece: Extract<ReportPiece, { kind: 'curve' }>, by: Point): CurveStroke {
  return {
    kind: 'curve',
    from: add(piece.from, by),
    to: add(piece.to, by),
    centre: add(piece.centre, by),
    radiusMm: piece.radius.value,
    sweepRad: piece.sweepRad,
  };
}

function changeOf(stretch: Stretch): Point {
  const change = stretch.thenMm - stretch.nowMm;
  return [Math.cos(stretch.headingRad) * change, Math.sin(stretch.headingRad) * change];
}

function lengthOf(piece: ReportPiece): number {
  return piece.kind === 'straight' ? piece.length.value : piece.radius.value * Math.abs(piece.sweepRad);
}

function add(a: Point, b: Point): Point {
  return [a[0] + b[0], a[1] + b[1]];
}
