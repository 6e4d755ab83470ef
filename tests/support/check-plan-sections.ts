import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import type { Report, ReportRun } from '../../server/contract/report.js';
import type { Stock } from '../../server/contract/stock.js';
import type { Wishes } from '../../server/contract/wishes.js';
import { openGapAfter, rowsOf, type Say } from './lay-out-plan.js';

export function checkStretches(
  report: Report,
  wishes: Wishes,
  stock: Stock,
  plan: PlanWithoutAlternatives,
  say: Say,
): void {
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

export function checkFillers(wishes: Wishes, plan: PlanWithoutAlternatives, say: Say): void {
  for (const filler of plan.fillers) {
    const steps = filler.lengthMm / wishes.stepMm;
    if (Math.abs(steps - Math.round(steps)) > 1e-3) say(`${filler.id} is ${steps} steps long`);
    if (filler.lengthMm < wishes.shortestFillerMm - 1e-3) say(`${filler.id} is too short: ${filler.lengthMm}`);
  }
}

export function checkDonors(stock: Stock, plan: PlanWithoutAlternatives, say: Say): void {
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
