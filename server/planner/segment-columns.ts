import type { ModelOptions, StraightKind } from './filler-model.js';
import type { Segment } from './layout-parts.js';
import {
  type Column,
  constant,
  type Linear,
  type LinearProgram,
  nothing,
  sumOf,
  term,
  times,
} from './linear-program.js';

/** The columns of one segment: which sections stay in it, what is put in, and sums of them. */
export interface SegmentColumns {
  readonly keep: readonly Column[];
  /** One count for each kind of straight. */
  readonly straights: readonly Column[];
  readonly fillers: readonly { readonly used: Column; readonly steps: Column }[];
  /** 1 when the segment is made anew, 0 when it is left as it lies; null where that makes no difference. */
  readonly changed: Column | null;
  /** Planned length − present length. */
  readonly change: Linear;
  /** Sections taken out and put in. */
  readonly sections: Linear;
  readonly cuts: Linear;
  /** Length of what is put in. */
  readonly newTrack: Linear;
}

/** A donor used whole needs no saw, but then it is gone: it counts as much as one changed section more where cuts come first. */
export const wholeDonorCuts = 0.01;

const noColumns: SegmentColumns = {
  keep: [],
  straights: [],
  fillers: [],
  changed: null,
  change: nothing,
  sections: nothing,
  cuts: nothing,
  newTrack: nothing,
};

function lengthAlone(program: LinearProgram, leastMm: number, mostMm: number): SegmentColumns {
  return { ...noColumns, change: term(1, program.continuous(leastMm, mostMm)) };
}

/** Adds the columns of a segment and the rows that hold them together. */
export function segmentColumns(
  program: LinearProgram,
  segment: Segment,
  kinds: readonly StraightKind[],
  options: ModelOptions,
): SegmentColumns {
  const { wishes } = options;
  const allowance = wishes.jointAllowanceMm;
  const { leastMm, mostMm } = options.reach(segment);
  const free = options.mayChange(segment);
  const lengths = segment.pieces.map((k) => segment.stretch.lengths[k].value);
  if (!free) return noColumns;
  if (options.lengthsOnly) return lengthAlone(program, leastMm, mostMm);
  const roomMm = segment.nowMm + Math.max(0, mostMm);
  const keep = lengths.map(() => program.yesNo());
  const straights = kinds.map((kind) =>
    program.whole(0, Math.min(kind.count, Math.floor(roomMm / kind.lengthMm + 0.01))),
  );
  const fillers = fillerColumns(program, segment, roomMm, options);
  const filled = sumOf(...fillers.map((f) => times(wishes.stepMm, term(1, f.steps))));
  const put = sumOf(...straights.map((c, k) => term(kinds[k].lengthMm, c)), filled);
  const added = sumOf(...straights.map((c) => term(1, c)), ...fillers.map((f) => term(1, f.used)));
  const keptCount = sumOf(...keep.map((c) => term(1, c)));
  const joints = sumOf(keptCount, added, constant(segment.jointsBeside));
  const kept = sumOf(...keep.map((c, i) => term(lengths[i], c)));
  const made = sumOf(kept, put, times(allowance, joints), constant(-segment.nowMm));
  const sections = sumOf(added, times(-1, keptCount), constant(keep.length));
  const { change, changed } = switchable(program, segment, made, sections, allowance);
  program.row(leastMm, change, mostMm);
  if (allowance > 0 && segment.jointsBeside < 0) program.atLeast(sumOf(keptCount, added), 1);
  orderAlike(program, keep, lengths);
  keepAlike(program, keep, straights, lengths, kinds);
  const wholes = straights.filter((_, k) => kinds[k].source === 'donor');
  const cuts = sumOf(...fillers.map((f) => term(1, f.used)), ...wholes.map((c) => term(wholeDonorCuts, c)));
  return { keep, straights, fillers, changed, change, sections, cuts, newTrack: put };
}

/**
 * Where an open gap may be left or joints have an allowance, leaving the segment as it lies differs from making it anew
 * of the same sections: a yes/no column tells which. As it lies, `made` is a known number, and the change is nought.
 */
function switchable(
  program: LinearProgram,
  segment: Segment,
  made: Linear,
  sections: Linear,
  allowance: number,
): { change: Linear; changed: Column | null } {
  if (segment.openGaps.length === 0 && allowance === 0) return { change: made, changed: null };
  const pieces = segment.pieces.reduce((sum, k) => sum + segment.stretch.lengths[k].value, 0);
  const madeAsItLies = pieces + allowance * (segment.pieces.length + segment.jointsBeside) - segment.nowMm;
  const changed = program.yesNo();
  program.atMost(sumOf(sections, term(-(segment.pieces.length + mostSectionsPutIn), changed)), 0);
  return { change: sumOf(made, constant(-madeAsItLies), term(madeAsItLies, changed)), changed };
}

const mostSectionsPutIn = 40;

/** Fillers that the segment may need: more than one only where one donor cannot be long enough. */
function fillerColumns(program: LinearProgram, segment: Segment, roomMm: number, options: ModelOptions) {
  const { wishes, stock } = options;
  const longestMm = Math.max(0, ...donorLengths(segment, options)) - stock.kerfMm;
  const mostSteps = Math.floor((Math.min(longestMm, roomMm) + 1e-6) / wishes.stepMm);
  const leastSteps = Math.ceil((wishes.shortestFillerMm - 1e-6) / wishes.stepMm);
  if (mostSteps < leastSteps) return [];
  const count = fillersAtMost(segment, mostSteps * wishes.stepMm, wishes.shortestFillerMm);
  const fillers = Array.from({ length: count }, () => ({ used: program.yesNo(), steps: program.whole(0, mostSteps) }));
  fillers.forEach((filler, i) => {
    program.atMost(sumOf(term(1, filler.steps), term(-mostSteps, filler.used)), 0);
    program.atLeast(sumOf(term(1, filler.steps), term(-leastSteps, filler.used)), 0);
    if (i > 0) program.atLeast(sumOf(term(1, fillers[i - 1].steps), term(-1, filler.steps)), 0);
  });
  return fillers;
}

function donorLengths(segment: Segment, { stock, wishes }: ModelOptions): number[] {
  const freed = wishes.allowFreed ? segment.stretch.lengths.map((l) => l.value) : [];
  return [...stock.donors.map((d) => d.lengthMm), ...freed];
}

function fillersAtMost(segment: Segment, longestMm: number, shortestMm: number): number {
  const openMm = segment.openGaps.reduce((sum, gap) => sum + gap.length.value, 0);
  const lengths = segment.pieces.map((k) => segment.stretch.lengths[k].value);
  const needMm = openMm < shortestMm && lengths.length > 0 ? openMm + Math.min(...lengths) : openMm;
  return Math.min(4, Math.max(1, Math.ceil(needMm / longestMm)) + (openMm > 0 ? 1 : 0));
}

/** Straights whose lengths differ by less than this are one kind: measuring and pushing together make as much. */
const alikeMm = 1.5;

/** Nothing is gained by laying a straight for one of the same length that comes out: it is put in only where all stay. */
function keepAlike(
  program: LinearProgram,
  keep: readonly Column[],
  straights: readonly Column[],
  lengths: readonly number[],
  kinds: readonly StraightKind[],
): void {
  straights.forEach((put, k) => {
    const most = kinds[k].count;
    keep.forEach((column, i) => {
      if (most > 0 && Math.abs(lengths[i] - kinds[k].lengthMm) < alikeMm)
        program.atMost(sumOf(term(1, put), term(-most, column)), 0);
    });
  });
}

/** Equal pieces are taken out from the last one on: otherwise the solver tries each of them. */
function orderAlike(program: LinearProgram, keep: readonly Column[], lengths: readonly number[]): void {
  for (let i = 0; i < keep.length; i++) {
    for (let k = i + 1; k < keep.length; k++) {
      if (Math.abs(lengths[i] - lengths[k]) > 1e-6) continue;
      program.atLeast(sumOf(term(1, keep[i]), term(-1, keep[k])), 0);
      break;
    }
  }
}
