import type { FillerModel, StraightKind } from './filler-model.js';
import { type Column, constant, type Linear, type LinearProgram, sumOf, term, times } from './linear-program.js';

type Parts = Pick<FillerModel, 'layout' | 'program' | 'options' | 'kinds' | 'segments'>;

/** What the donors give in all: necessary, not sufficient; the cutting itself is worked out afterwards. */
export function shareDonorLength({ program, segments, kinds, layout, options }: Parts): void {
  const { stock, wishes } = options;
  const fillers = segments.flatMap((s) => s.fillers);
  if (fillers.length === 0) return;
  const cutMm = fillers.flatMap((f) => [term(wishes.stepMm, f.steps), term(stock.kerfMm, f.used)]);
  const wholeMm = segments.flatMap((s) =>
    s.straights.flatMap((c, k) => (kinds[k].source === 'donor' ? [term(kinds[k].lengthMm, c)] : [])),
  );
  const freedMm = wishes.allowFreed
    ? segments.flatMap((s, i) =>
        s.keep.map((c, k) => {
          const mm = layout.segments[i].stretch.lengths[layout.segments[i].pieces[k]].value + stock.kerfMm;
          return sumOf(constant(mm), term(-mm, c));
        }),
      )
    : [];
  const donorMm = stock.donors.reduce((sum, d) => sum + d.lengthMm + stock.kerfMm, 0);
  program.atMost(sumOf(...cutMm, ...wholeMm, times(-1, sumOf(...freedMm))), donorMm);
}

interface DonorColumn {
  readonly lengthMm: number;
  /** Whole donors or freed pieces of the same kind share their number with those used whole. */
  readonly kind: number | null;
  /** 1 when the piece still lies in the layout; null for stock. */
  readonly kept: Column | null;
  readonly opened: Column;
}

/**
 * The cutting itself, donor by donor: each filler comes from one donor, and pieces with their kerfs fit it, or the last
 * piece ends where the donor ends. Asked for only where the total length let something through that cannot be cut.
 */
export function cutEveryDonor(parts: Parts): void {
  const { program, options, segments } = parts;
  const { stock, wishes } = options;
  const donors = donorColumns(parts);
  const loads = donors.map((): { steps: Linear[]; used: Linear[] } => ({ steps: [], used: [] }));
  const leastSteps = Math.ceil((wishes.shortestFillerMm - 1e-6) / wishes.stepMm);
  for (const filler of segments.flatMap((s) => s.fillers)) {
    const from = donors.map((donor, d) => {
      const mostSteps = Math.floor((donor.lengthMm + 1e-6) / wishes.stepMm);
      const chosen = program.yesNo();
      const steps = program.whole(0, Math.max(0, mostSteps));
      program.atMost(sumOf(term(1, steps), term(-mostSteps, chosen)), 0);
      program.atLeast(sumOf(term(1, steps), term(-leastSteps, chosen)), 0);
      program.atMost(sumOf(term(1, chosen), term(-1, donor.opened)), 0);
      loads[d].steps.push(term(wishes.stepMm, steps));
      loads[d].used.push(term(stock.kerfMm, chosen));
      return { chosen, steps };
    });
    program.row(0, sumOf(...from.map((f) => term(1, f.chosen)), term(-1, filler.used)), 0);
    program.row(0, sumOf(...from.map((f) => term(1, f.steps)), term(-1, filler.steps)), 0);
  }
  donors.forEach((donor, d) => {
    fitDonor(program, donor.lengthMm, stock.kerfMm, sumOf(...loads[d].steps, ...loads[d].used));
    if (donor.kept !== null) program.atMost(sumOf(term(1, donor.opened), term(1, donor.kept)), 1);
  });
  shareWithWholes(parts, donors);
}

/** Tells an end of the donor from a place near it: half of what the cutting search allows. */
const endToleranceMm = 0.01;

function fitDonor(program: LinearProgram, lengthMm: number, kerfMm: number, load: Linear): void {
  if (kerfMm === 0) {
    program.atMost(load, lengthMm);
    return;
  }
  const usedUp = program.yesNo();
  program.atMost(sumOf(load, term(-kerfMm, usedUp)), lengthMm);
  program.atLeast(sumOf(load, term(-(lengthMm + kerfMm - endToleranceMm), usedUp)), 0);
}

function donorColumns({ program, options, kinds, layout, segments }: Parts): DonorColumn[] {
  const kindOf = (lengthMm: number) => {
    const at = kinds.findIndex((k) => k.source === 'donor' && Math.abs(k.lengthMm - lengthMm) < 1e-6);
    return at < 0 ? null : at;
  };
  const donors = options.stock.donors.map(
    (d): DonorColumn => ({ lengthMm: d.lengthMm, kind: kindOf(d.lengthMm), kept: null, opened: program.yesNo() }),
  );
  kinds.forEach((kind, k) => {
    for (const freed of kind.freed) {
      const { stretch, pieces } = layout.segments[freed.segment];
      const lengthMm = stretch.lengths[pieces[freed.piece]].value;
      donors.push({ lengthMm, kind: k, kept: segments[freed.segment].keep[freed.piece], opened: program.yesNo() });
    }
  });
  return donors;
}

/** A donor that is cut is not there to be used whole, nor is a freed piece. */
function shareWithWholes({ program, kinds, segments }: Parts, donors: readonly DonorColumn[]): void {
  kinds.forEach((kind: StraightKind, k) => {
    const opened = donors.filter((d) => d.kind === k).map((d) => term(1, d.opened));
    if (opened.length === 0) return;
    const used = segments.flatMap((s) => (s.straights.length > 0 ? [term(1, s.straights[k])] : []));
    const kept = kind.freed.map((f) => term(1, segments[f.segment].keep[f.piece]));
    program.atMost(sumOf(...opened, ...used, ...kept), kind.count);
  });
}
