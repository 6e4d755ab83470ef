import { cutDonors, type DonorAtHand, type DonorCut } from './cut-donors.js';
import type { FillerModel } from './filler-model.js';
import { movedBy } from './filler-model.js';
import type { Segment } from './layout-parts.js';
import { sumAt, sumOf } from './linear-program.js';
import { add, scale, type Vec } from './plane-vectors.js';
import type { Solution } from './question.js';

/** What a solution makes of one segment, in whole sections. */
export interface SegmentPlan {
  readonly segment: Segment;
  /** Places within the stretch's `pieces`. */
  readonly kept: readonly number[];
  readonly straights: readonly { readonly lengthMm: number; readonly source: 'layout' | 'stock' }[];
  readonly fillers: readonly PlannedFiller[];
  /** False: left as it lies, open gaps and all. */
  readonly remade: boolean;
  /** Joints that count with the allowance. */
  readonly joints: number;
  /** Planned − present length, from the sections themselves. */
  readonly changeMm: number;
}

export interface PlannedFiller {
  readonly id: string;
  readonly lengthMm: number;
  /** A whole donor used as it is needs no cut. */
  readonly cut: boolean;
}

export interface SolutionPlan {
  readonly solution: Solution;
  readonly segments: readonly SegmentPlan[];
  readonly donors: readonly (DonorCut & { readonly freed: boolean })[];
  readonly shifts: readonly Vec[];
  /** Did the search for the best cutting see everything? */
  readonly cuttingProved: boolean;
}

/** Reads whole sections out of a solution and cuts its fillers. @returns null when the donors do not give them */
export function readSolution(solution: Solution): SolutionPlan | null {
  const { model } = solution;
  const counter = { next: 1 };
  const segments = model.layout.segments.map((segment) => readSegment(solution, segment, counter));
  const cutting = cutAll(model, segments);
  if (cutting === null) return null;
  const shifts = model.layout.chains.map((_, c): Vec => {
    const [x, y] = movedBy(model, c, 0, solution.values);
    return [Math.round(x * 1e3) / 1e3, Math.round(y * 1e3) / 1e3];
  });
  return { solution, segments, donors: cutting.donors, shifts, cuttingProved: cutting.proved };
}

function readSegment(solution: Solution, segment: Segment, counter: { next: number }): SegmentPlan {
  const { model, values } = solution;
  const columns = model.segments[segment.index];
  const { wishes } = model.options;
  const lengthsMm = segment.pieces.map((k) => segment.stretch.lengths[k].value);
  const untouched = {
    segment,
    kept: segment.pieces,
    straights: [],
    fillers: [],
    joints: 0,
    changeMm: 0,
    remade: false,
  };
  if (!model.options.mayChange(segment) || (columns.changed !== null && values[columns.changed] < 0.5))
    return untouched;
  const kept = segment.pieces.filter((_, i) => values[columns.keep[i]] > 0.5);
  const straights: { lengthMm: number; source: 'layout' | 'stock' }[] = [];
  const fillers: PlannedFiller[] = [];
  columns.straights.forEach((column, k) => {
    const { lengthMm, source } = model.kinds[k];
    for (let n = 0; n < Math.round(values[column]); n++) {
      if (source === 'donor') fillers.push({ id: `F${counter.next++}`, lengthMm, cut: false });
      else straights.push({ lengthMm, source });
    }
  });
  for (const filler of columns.fillers) {
    if (values[filler.used] < 0.5) continue;
    const lengthMm = Math.round(values[filler.steps] * wishes.stepMm * 1e4) / 1e4;
    fillers.push({ id: `F${counter.next++}`, lengthMm, cut: true });
  }
  const sections = kept.length + straights.length + fillers.length;
  const joints = sections === 0 ? 0 : Math.max(0, sections + segment.jointsBeside);
  const madeMm =
    segment.pieces.reduce((sum, k, i) => sum + (kept.includes(k) ? lengthsMm[i] : 0), 0) +
    straights.reduce((sum, s) => sum + s.lengthMm, 0) +
    fillers.reduce((sum, f) => sum + f.lengthMm, 0);
  const changeMm = madeMm + joints * wishes.jointAllowanceMm - segment.nowMm;
  return { segment, kept, straights, fillers, joints, changeMm, remade: true };
}

function cutAll(model: FillerModel, segments: readonly SegmentPlan[]) {
  const { stock, wishes } = model.options;
  const fillers = segments.flatMap((s) => s.fillers);
  const free: DonorAtHand[] = [...stock.donors];
  const donors: (DonorCut & { freed: boolean })[] = [];
  for (const filler of fillers.filter((f) => !f.cut)) {
    const at = free.findIndex((d) => Math.abs(d.lengthMm - filler.lengthMm) < 0.02);
    if (at < 0) return null;
    const [donor] = free.splice(at, 1);
    const pieces = [{ id: filler.id, lengthMm: donor.lengthMm }];
    donors.push({ donor, pieces, marksMm: [donor.lengthMm], offcutMm: 0, freed: false });
  }
  const toCut = fillers.filter((f) => f.cut).map((f) => ({ id: f.id, lengthMm: f.lengthMm }));
  const options = { kerfMm: stock.kerfMm, reusableOffcutMm: stock.reusableOffcutMm };
  const freed = wishes.allowFreed ? freedDonors(segments) : [];
  const fromStock = cutDonors(toCut, free, options);
  const cutting = fromStock ?? (freed.length > 0 ? cutDonors(toCut, [...free, ...freed], options) : null);
  if (cutting === null) return null;
  const isFreed = new Set(freed);
  for (const cut of cutting.cuts) donors.push({ ...cut, freed: isFreed.has(cut.donor) });
  return { donors, proved: cutting.proved };
}

/** Sections that the plan takes out and does not put in again elsewhere. */
function freedDonors(segments: readonly SegmentPlan[]): DonorAtHand[] {
  const used = segments.flatMap((s) => s.straights.filter((x) => x.source === 'layout').map((x) => x.lengthMm));
  return segments.flatMap((plan) => {
    if (!plan.remade) return [];
    const { stretch } = plan.segment;
    return plan.segment.pieces.flatMap((k): DonorAtHand[] => {
      if (plan.kept.includes(k)) return [];
      const lengthMm = stretch.lengths[k].value;
      const again = used.findIndex((u) => Math.abs(u - lengthMm) <= 0.3);
      if (again >= 0) {
        used.splice(again, 1);
        return [];
      }
      return [{ id: `${stretch.run} piece ${stretch.pieces[k]}`, lengthMm }];
    });
  });
}

/** How far what lies behind `after` segments of a run moves, from the sections themselves. */
export function plannedMovement(plan: SolutionPlan, chain: number, after: number): Vec {
  const { segments } = plan.solution.model.layout.chains[chain];
  return segments
    .slice(0, after)
    .reduce<Vec>((sum, s) => add(sum, scale(s.stretch.along, plan.segments[s.index].changeMm)), plan.shifts[chain]);
}

/** Total length of new track in a solution. */
export function newTrackMm(solution: Solution): number {
  return sumAt(sumOf(...solution.model.segments.map((s) => s.newTrack)), solution.values);
}
