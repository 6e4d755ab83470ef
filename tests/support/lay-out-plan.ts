import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import type { Report, ReportRun } from '../../server/contract/report.js';

/** A plan laid out again from the report's pieces, without any code of the planner. */
export type P = [number, number];
export type Say = (fault: string) => void;

/** Rows of straights that follow each other, round the end of a closed run too. */
export function rowsOf(run: ReportRun): number[][] {
  const count = run.pieces.length;
  const rows: number[][] = [];
  const straight = (i: number) => run.pieces[i].kind === 'straight';
  for (let i = 0; i < count; i++) {
    if (!straight(i)) continue;
    const previous = i > 0 ? i - 1 : run.closed ? count - 1 : -1;
    if (previous >= 0 && straight(previous) && previous !== i) continue;
    const row = [i];
    for (let k = i + 1; row.length < count; k++) {
      const next = k % count;
      if ((k >= count && !run.closed) || !straight(next) || next === i) break;
      row.push(next);
    }
    rows.push(row);
  }
  if (rows.length === 0 && run.pieces.every((p) => p.kind === 'straight')) rows.push(run.pieces.map((_, i) => i));
  return rows;
}

/** Gap behind piece i, when it is open. */
export function openGapAfter(report: Report, run: ReportRun, i: number): number {
  const next = (i + 1) % run.pieces.length;
  if (next === 0 && !run.closed) return 0;
  const joint = report.joints.find((j) => j.run === run.id && j.pieces?.[0] === i && j.pieces[1] === next);
  return joint?.open ? joint.gap.value : 0;
}

export interface Track {
  readonly run: string;
  readonly closed: boolean;
  /** Centre-line places with the unit direction, at most 4 mm apart. */
  readonly places: { at: P; along: P }[];
  readonly left: P;
  readonly moved: P[];
}

/** Walks the run: straights of a planned stretch become its planned length, everything else is as measured. */
export function layOut(report: Report, run: ReportRun, plan: PlanWithoutAlternatives): Track {
  const count = run.pieces.length;
  const rows = rowsOf(run);
  const rowOf = (i: number) => rows.find((r) => r.includes(i));
  const startRow = rowOf(0);
  const first = startRow ? startRow[0] : 0;
  const shift = plan.shift[run.id] ?? [0, 0];
  const places: Track['places'] = [];
  const moved: P[] = [];
  let by: P = [shift[0], shift[1]];
  for (let k = 0; k < count; ) {
    const i = (first + k) % count;
    const piece = run.pieces[i];
    if (piece.kind === 'curve') {
      by = gapBetweenCurves(report, run, plan, i, by, k);
      moved[i] = by;
      sampleCurve(piece, by, places);
      k++;
      continue;
    }
    const row = rowOf(i) as number[];
    const planned = plan.stretches.find((s) => s.run === run.id && s.pieces.join() === row.join());
    const before = (row[0] + count - 1) % count;
    const after = (row[row.length - 1] + 1) % count;
    const openBefore =
      run.closed || row[0] > 0 ? (run.pieces[before].kind === 'curve' ? openGapAfter(report, run, before) : 0) : 0;
    const openAfter = run.pieces[after].kind === 'curve' ? openGapAfter(report, run, row[row.length - 1]) : 0;
    const from = openBefore > 0 ? run.pieces[before].to : run.pieces[row[0]].from;
    const to = openAfter > 0 ? run.pieces[after].from : run.pieces[row[row.length - 1]].to;
    const changeMm = planned ? planned.thenMm - planned.nowMm : 0;
    const heading = planned ? planned.headingRad : Math.atan2(to[1] - from[1], to[0] - from[0]);
    const u: P = [Math.cos(heading), Math.sin(heading)];
    for (const p of row) {
      const alongMm = pieceShift(run, plan, row, p, from, u);
      moved[p] = [by[0] + alongMm * u[0], by[1] + alongMm * u[1]];
    }
    const start: P = [from[0] + by[0], from[1] + by[1]];
    by = [by[0] + changeMm * u[0], by[1] + changeMm * u[1]];
    sampleLine(start, [to[0] + by[0], to[1] + by[1]], places);
    k += row.length;
  }
  const total = by;
  return { run: run.id, closed: run.closed, places, left: [total[0] - shift[0], total[1] - shift[1]], moved };
}

/** How far a piece of a row moves along it: where the sections before it in the plan's order put it. */
function pieceShift(
  run: ReportRun,
  plan: PlanWithoutAlternatives,
  row: readonly number[],
  piece: number,
  from: P,
  u: P,
): number {
  const order = plan.stretches.find((s) => s.run === run.id && s.pieces.join() === row.join())?.order;
  if (!order?.some((o) => 'piece' in o && o.piece === piece)) return 0;
  const start = run.pieces[piece].from;
  let alongMm = -((start[0] - from[0]) * u[0] + (start[1] - from[1]) * u[1]);
  for (const section of order) {
    if ('lengthMm' in section) alongMm += section.lengthMm;
    else if ('filler' in section) alongMm += plan.fillers.find((f) => f.id === section.filler)?.lengthMm ?? Number.NaN;
    else if (section.piece === piece) break;
    else {
      const other = run.pieces[section.piece];
      alongMm += other.kind === 'straight' ? other.length.value : 0;
    }
  }
  return alongMm;
}

function gapBetweenCurves(
  report: Report,
  run: ReportRun,
  plan: PlanWithoutAlternatives,
  i: number,
  by: P,
  k: number,
): P {
  const previous = (i + run.pieces.length - 1) % run.pieces.length;
  if (k === 0 || run.pieces[previous].kind !== 'curve' || openGapAfter(report, run, previous) === 0) return by;
  const alone = plan.stretches.filter((s) => s.run === run.id && s.pieces.length === 0);
  const heading = Math.atan2(
    run.pieces[i].from[1] - run.pieces[previous].to[1],
    run.pieces[i].from[0] - run.pieces[previous].to[0],
  );
  const planned = alone.find((s) => Math.abs(Math.sin((s.headingRad - heading) / 2)) < 0.01);
  const changeMm = planned ? planned.thenMm - planned.nowMm : 0;
  return [by[0] + changeMm * Math.cos(heading), by[1] + changeMm * Math.sin(heading)];
}

function sampleLine(from: P, to: P, places: Track['places']): void {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (length < 1e-9) return;
  const along: P = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
  const count = Math.max(1, Math.ceil(length / 4));
  for (let i = 0; i <= count; i++) {
    places.push({ at: [from[0] + (along[0] * length * i) / count, from[1] + (along[1] * length * i) / count], along });
  }
}

function sampleCurve(
  piece: Extract<ReportRun['pieces'][number], { kind: 'curve' }>,
  by: P,
  places: Track['places'],
): void {
  const start = Math.atan2(piece.from[1] - piece.centre[1], piece.from[0] - piece.centre[0]);
  const radius = Math.hypot(piece.from[0] - piece.centre[0], piece.from[1] - piece.centre[1]);
  const count = Math.max(2, Math.ceil((Math.abs(piece.sweepRad) * radius) / 4));
  const side = Math.sign(piece.sweepRad);
  for (let i = 0; i <= count; i++) {
    const angle = start + (piece.sweepRad * i) / count;
    places.push({
      at: [piece.centre[0] + radius * Math.cos(angle) + by[0], piece.centre[1] + radius * Math.sin(angle) + by[1]],
      along: [-side * Math.sin(angle), side * Math.cos(angle)],
    });
  }
}
