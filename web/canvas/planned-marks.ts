import { alongPiece, alongStraight } from '../../server/contract/along-piece.js';
import type { Plan, PlanWithoutAlternatives } from '../../server/contract/plan.js';
import type { Report, ReportRun } from '../../server/contract/report.js';
import type { Mark } from './marks.js';
import type { PictureFrame } from './picture-frame.js';
import { type Pair, railOffsets } from './track-lines.js';
import type { Point } from './view.js';

/**
 * Where the track will lie: every piece moved by its run's shift and by what the stretches before it change. A stretch
 * itself becomes one straight line of its new length.
 */
export function plannedMarks(report: Report, plan: Plan | PlanWithoutAlternatives, frame: PictureFrame): Mark[] {
  const zMm = report.track.railTopMm;
  const draw = (points: readonly Pair[]): Point[] =>
    points.map((p) => frame.pictureFromTable(p[0], p[1], zMm)).filter((p): p is Point => p !== null);
  return plannedLines(report, plan)
    .map((lines, i): Mark => ({ key: `planned ${i}`, layer: 'planned', thing: null, lines: lines.map(draw) }))
    .filter((mark) => mark.lines.every((line) => line.length > 1));
}

/** The three rails of each piece or stretch as planned, table millimetres. */
export function plannedLines(report: Report, plan: PlanWithoutAlternatives): Pair[][][] {
  return report.runs.flatMap((run) => runAsPlanned(report, run, plan));
}

type PlannedStretch = PlanWithoutAlternatives['stretches'][number];

/** Walks a run from its first point: the start of piece 0, or of the stretch that piece 0 lies in. */
function runAsPlanned(report: Report, run: ReportRun, plan: PlanWithoutAlternatives): Pair[][][] {
  const offsets = railOffsets(report.track);
  const stretches = plan.stretches.filter((s) => s.run === run.id);
  const count = run.pieces.length;
  const first = stretches.find((s) => s.pieces.includes(0))?.pieces[0] ?? 0;
  let moved: Pair = plan.shift[run.id] ?? [0, 0];
  const lines: Pair[][][] = [];
  const layStretch = (stretch: PlannedStretch, start: Pair): void => {
    const u: Pair = [Math.cos(stretch.headingRad), Math.sin(stretch.headingRad)];
    const from: Pair = [start[0] + moved[0], start[1] + moved[1]];
    const to: Pair = [from[0] + u[0] * stretch.thenMm, from[1] + u[1] * stretch.thenMm];
    lines.push(offsets.map((offset) => alongStraight(from, to, offset)));
    const change = stretch.thenMm - stretch.nowMm;
    moved = [moved[0] + u[0] * change, moved[1] + u[1] * change];
  };
  for (let step = 0; step < count; step++) {
    const i = (first + step) % count;
    const piece = run.pieces[i];
    const stretch = stretches.find((s) => s.pieces.includes(i));
    if (!stretch) lines.push(offsets.map((offset) => shifted(alongPiece(piece, offset), moved)));
    // A gap beside the first piece belongs to the stretch: it then starts where the piece before it ends.
    else if (stretch.pieces[0] === i) layStretch(stretch, startOf(report, run, stretch, piece.from));
    const between = stretches.find((s) => s.pieces.length === 0 && pieceBefore(report, plan, s) === i);
    if (between) layStretch(between, piece.to);
  }
  return lines;
}

/** Where a stretch begins as measured: at its first piece, or before an open gap that lies before that piece. */
function startOf(report: Report, run: ReportRun, stretch: PlannedStretch, from: Pair): Pair {
  const gap = report.joints.find((j) => j.run === run.id && j.open && j.pieces?.[1] === stretch.pieces[0]);
  const before = gap?.pieces ? run.pieces[gap.pieces[0]] : undefined;
  return before?.kind === 'curve' ? before.to : from;
}

/** A stretch without pieces is a gap between two curves: the filler in it says at which joint. */
function pieceBefore(report: Report, plan: PlanWithoutAlternatives, stretch: PlannedStretch): number | null {
  const names = stretch.made.flatMap((made) => ('filler' in made ? [made.filler] : []));
  const joint = plan.fillers.find((f) => names.includes(f.id))?.joint;
  return report.joints.find((j) => j.id === joint)?.pieces?.[0] ?? null;
}

function shifted(points: readonly Pair[], by: Pair): Pair[] {
  return points.map((p) => [p[0] + by[0], p[1] + by[1]] as const);
}
