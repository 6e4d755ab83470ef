import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import type { Report, ReportRun } from '../../server/contract/report.js';
import type { Stock } from '../../server/contract/stock.js';
import type { Wishes } from '../../server/contract/wishes.js';

/**
 * Checks a plan from scratch, sharing no code with the planner: lays every run out again from the report's pieces with
 * the plan's stretch lengths and shift, piece by piece, and looks at it by dense sampling.
 * @param sideToleranceMm how far a predicted clearance may be from that of straight rows; joints that are askew need more
 * @returns everything that is wrong, as sentences; empty when the plan is right
 */
export function checkPlan(
  report: Report,
  wishes: Wishes,
  stock: Stock,
  plan: PlanWithoutAlternatives,
  sideToleranceMm = 0.1,
): string[] {
  const faults: string[] = [];
  const say = (fault: string) => faults.push(fault);
  checkStretches(report, wishes, stock, plan, say);
  checkFillers(wishes, plan, say);
  checkDonors(stock, plan, say);
  const tracks = report.runs.map((run) => layOut(report, run, plan));
  for (const track of tracks) checkClosing(wishes, plan, track, say);
  checkClearances(report, wishes, plan, tracks, sideToleranceMm, say);
  checkZones(wishes, plan, tracks, say);
  checkSpacings(wishes, plan, tracks, say);
  checkStaying(wishes, tracks, say);
  return faults;
}

type P = [number, number];
type Say = (fault: string) => void;

/** Rows of straights that follow each other, round the end of a closed run too. */
function rowsOf(run: ReportRun): number[][] {
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
function openGapAfter(report: Report, run: ReportRun, i: number): number {
  const next = (i + 1) % run.pieces.length;
  if (next === 0 && !run.closed) return 0;
  const joint = report.joints.find((j) => j.run === run.id && j.pieces?.[0] === i && j.pieces[1] === next);
  return joint?.open ? joint.gap.value : 0;
}

function checkStretches(report: Report, wishes: Wishes, stock: Stock, plan: PlanWithoutAlternatives, say: Say): void {
  const fillerMm = new Map(plan.fillers.map((f) => [f.id, f.lengthMm]));
  const stockUsed = new Map<number, number>();
  const fillersUsed: string[] = [];
  for (const stretch of plan.stretches) {
    const run = report.runs.find((r) => r.id === stretch.run);
    if (!run) {
      say(`stretch of unknown run ${stretch.run}`);
      continue;
    }
    if (stretch.pieces.length > 0 && !rowsOf(run).some((row) => row.join() === stretch.pieces.join())) {
      say(`${stretch.run} ${stretch.pieces.join()} is not a longest row of straights`);
    }
    const nowMm = nowOf(report, run, stretch.pieces);
    if (wishes.jointAllowanceMm === 0 && stretch.pieces.length > 0 && Math.abs(nowMm - stretch.nowMm) > 0.01) {
      say(`${stretch.run} ${stretch.pieces.join()}: nowMm ${stretch.nowMm}, measured ${nowMm}`);
    }
    const available = stretch.pieces.map((i) => (run.pieces[i].kind === 'straight' ? run.pieces[i].length.value : 0));
    let sum = 0;
    let sections = 0;
    for (const made of stretch.made) {
      if ('filler' in made) {
        fillersUsed.push(made.filler);
        sum += fillerMm.get(made.filler) ?? Number.NaN;
        sections++;
        continue;
      }
      sum += made.lengthMm * made.count;
      sections += made.count;
      if (made.source === 'stock') stockUsed.set(made.lengthMm, (stockUsed.get(made.lengthMm) ?? 0) + made.count);
      else if (!wishes.allowFreed) {
        for (let n = 0; n < made.count; n++) {
          const at = available.findIndex((mm) => Math.abs(mm - made.lengthMm) < 1e-6);
          if (at < 0)
            say(`${stretch.run} ${stretch.pieces.join()} uses a section of ${made.lengthMm} that does not lie there`);
          else available.splice(at, 1);
        }
      }
    }
    const joints = stretch.joints ?? 0;
    if (Math.abs(sum + joints * wishes.jointAllowanceMm - stretch.thenMm) > 0.01) {
      say(`${stretch.run} ${stretch.pieces.join()}: thenMm ${stretch.thenMm} but made of ${sum}`);
    }
    if (wishes.jointAllowanceMm > 0 && Math.abs(joints - sections) > 1)
      say(`${sections} sections cannot have ${joints} joints`);
  }
  const ids = plan.fillers.map((f) => f.id);
  if ([...ids].sort().join() !== [...fillersUsed].sort().join()) say(`fillers ${ids} but used ${fillersUsed}`);
  for (const [lengthMm, count] of stockUsed) {
    const there = stock.straights
      .filter((s) => Math.abs(s.lengthMm - lengthMm) < 1e-6)
      .reduce((n, s) => n + s.count, 0);
    if (count > there) say(`${count} straights of ${lengthMm} used, ${there} at hand`);
  }
}

function nowOf(report: Report, run: ReportRun, pieces: readonly number[]): number {
  const count = run.pieces.length;
  let sum = 0;
  for (const [k, i] of pieces.entries()) {
    const piece = run.pieces[i];
    if (piece.kind === 'straight') sum += piece.length.value;
    sum += openGapAfter(report, run, i);
    if (k === 0 && (run.closed || i > 0)) {
      const previous = (i + count - 1) % count;
      if (!pieces.includes(previous)) sum += openGapAfter(report, run, previous);
    }
  }
  return sum;
}

function checkFillers(wishes: Wishes, plan: PlanWithoutAlternatives, say: Say): void {
  for (const filler of plan.fillers) {
    const steps = filler.lengthMm / wishes.stepMm;
    if (Math.abs(steps - Math.round(steps)) > 1e-3) say(`${filler.id} is ${steps} steps long`);
    if (filler.lengthMm < wishes.shortestFillerMm - 1e-3) say(`${filler.id} is too short: ${filler.lengthMm}`);
  }
}

function checkDonors(stock: Stock, plan: PlanWithoutAlternatives, say: Say): void {
  const lengths = new Map(plan.fillers.map((f) => [f.id, f.lengthMm]));
  const cut = plan.donors.flatMap((d) => d.pieces);
  if (
    [...cut].sort().join() !==
    plan.fillers
      .map((f) => f.id)
      .sort()
      .join()
  )
    say(`donors give ${cut}`);
  const used = new Set<string>();
  for (const donor of plan.donors) {
    if (used.has(donor.donor)) say(`donor ${donor.donor} is used twice over`);
    used.add(donor.donor);
    const there = stock.donors.find((d) => d.id === donor.donor);
    if (!there && !donor.freed) say(`there is no donor ${donor.donor}`);
    if (there && there.lengthMm !== donor.lengthMm) say(`donor ${donor.donor} is ${there.lengthMm} long`);
    let at = 0;
    donor.pieces.forEach((id, i) => {
      at += (lengths.get(id) ?? Number.NaN) + (i > 0 ? stock.kerfMm : 0);
      if (Math.abs(donor.marksMm[i] - at) > 0.01)
        say(`mark ${i} of ${donor.donor} is at ${donor.marksMm[i]}, not ${at}`);
    });
    const left = donor.lengthMm - at;
    if (left < -0.03) say(`${donor.donor} is cut ${-left} mm beyond its end`);
    if (left > 0.03 && left < stock.kerfMm - 1e-6)
      say(`the last cut of ${donor.donor} has only ${left} mm left for the blade`);
    const offcut = left > 0.03 ? left - stock.kerfMm : 0;
    if (Math.abs(offcut - donor.offcutMm) > 0.04) say(`offcut of ${donor.donor} is ${donor.offcutMm}, not ${offcut}`);
  }
}

interface Track {
  readonly run: string;
  readonly closed: boolean;
  /** Centre-line places with the unit direction, at most 4 mm apart. */
  readonly places: { at: P; along: P }[];
  readonly left: P;
  readonly moved: P[];
}

/** Walks the run: straights of a planned stretch become its planned length, everything else is as measured. */
function layOut(report: Report, run: ReportRun, plan: PlanWithoutAlternatives): Track {
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

function unmetBy(plan: PlanWithoutAlternatives, wish: string): number {
  return Math.max(0, ...plan.unmet.filter((u) => u.wish === wish).map((u) => u.shortByMm));
}

function checkClosing(wishes: Wishes, plan: PlanWithoutAlternatives, track: Track, say: Say): void {
  const missMm = Math.hypot(...track.left);
  if (missMm > wishes.closingMm + unmetBy(plan, `closing ${track.run}`) + 0.02)
    say(`${track.run} misses by ${missMm} mm`);
  const said = plan.predicted.closing.find((c) => c.run === track.run);
  if (track.closed && !said) say(`nothing is said about how ${track.run} closes`);
  if (said && Math.hypot(said.dxMm - track.left[0], said.dyMm - track.left[1]) > 0.02) {
    say(`${track.run} is said to miss by ${said.dxMm}, ${said.dyMm}, not ${track.left}`);
  }
}

/** Clearance of rail faces to a side, counted where the foot is on the range; for convex tables. */
function clearanceOf(report: Report, tracks: readonly Track[], name: string, fromMm: number, toMm: number): number {
  const side = report.table.sides.find((s) => s.name === name) as Report['table']['sides'][number];
  const length = Math.hypot(side.to[0] - side.from[0], side.to[1] - side.from[1]);
  const t: P = [(side.to[0] - side.from[0]) / length, (side.to[1] - side.from[1]) / length];
  const n: P = [-t[1], t[0]];
  const face = report.track.gaugeMm / 2 + report.track.headWidthMm;
  let least = Infinity;
  for (const { places } of tracks) {
    for (const { at, along } of places) {
      for (const sign of [1, -1]) {
        const p = [at[0] - sign * face * along[1] - side.from[0], at[1] + sign * face * along[0] - side.from[1]];
        const foot = p[0] * t[0] + p[1] * t[1];
        if (foot < fromMm || foot > Math.min(toMm, length)) continue;
        least = Math.min(least, p[0] * n[0] + p[1] * n[1]);
      }
    }
  }
  return least;
}

function checkClearances(
  report: Report,
  wishes: Wishes,
  plan: PlanWithoutAlternatives,
  tracks: readonly Track[],
  toleranceMm: number,
  say: Say,
): void {
  for (const wish of wishes.clearance) {
    const found = clearanceOf(report, tracks, wish.side, wish.fromMm ?? 0, wish.toMm ?? Infinity);
    const shortMm = wish.atLeastMm - found;
    const said = unmetBy(plan, `clearance ${wish.side}`);
    if (shortMm > said + 0.06) say(`clearance ${wish.side} is short by ${shortMm}, said ${said}`);
  }
  for (const side of report.table.sides) {
    const said = plan.predicted.clearances.find((c) => c.side === side.name);
    const found = clearanceOf(report, tracks, side.name, 0, Infinity);
    if (said && Math.abs(said.distance.value - found) > toleranceMm)
      say(`side ${side.name}: ${found}, said ${said.distance.value}`);
    if (!said && found < Infinity) say(`nothing is said about side ${side.name}`);
  }
}

function checkZones(wishes: Wishes, plan: PlanWithoutAlternatives, tracks: readonly Track[], say: Say): void {
  const face = 31.75 / 2 + 4.6;
  for (const zone of wishes.keepFree) {
    let deepest = 0;
    const c = Math.cos(zone.angleRad);
    const s = Math.sin(zone.angleRad);
    for (const { places } of tracks) {
      for (const { at, along } of places) {
        for (const offset of [face, 0, -face]) {
          const p = [at[0] - offset * along[1] - zone.centre[0], at[1] + offset * along[0] - zone.centre[1]];
          const x = Math.abs(p[0] * c + p[1] * s);
          const y = Math.abs(-p[0] * s + p[1] * c);
          deepest = Math.max(
            deepest,
            Math.min(zone.widthMm / 2 + zone.marginMm - x, zone.depthMm / 2 + zone.marginMm - y),
          );
        }
      }
    }
    const said = unmetBy(plan, `keep free ${zone.name}`);
    if (deepest > said + 0.06) say(`zone ${zone.name} is entered by ${deepest}, said ${said}`);
  }
}

function checkSpacings(wishes: Wishes, plan: PlanWithoutAlternatives, tracks: readonly Track[], say: Say): void {
  for (const wish of wishes.spacing) {
    const [a, b] = wish.runs.map((run) => tracks.find((t) => t.run === run));
    if (!a || !b || a === b) continue;
    let least = Infinity;
    for (const p of a.places)
      for (const q of b.places) least = Math.min(least, Math.hypot(p.at[0] - q.at[0], p.at[1] - q.at[1]));
    const said = unmetBy(plan, `spacing ${wish.runs[0]} ${wish.runs[1]}`);
    if (wish.atLeastMm - least > said + 0.06)
      say(`spacing ${wish.runs} is ${least}, wished ${wish.atLeastMm}, said ${said}`);
  }
}

function checkStaying(wishes: Wishes, tracks: readonly Track[], say: Say): void {
  for (const wish of wishes.stay) {
    const track = tracks.find((t) => t.run === wish.run);
    for (const piece of wish.pieces) {
      const by = track?.moved[piece];
      if (by && Math.hypot(...by) > Math.SQRT2 * Math.min(wishes.closingMm, wishes.stepMm) + 0.01)
        say(`piece ${piece} moves by ${by}`);
    }
  }
}
