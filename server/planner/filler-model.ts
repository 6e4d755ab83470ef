import type { Stock } from '../contract/stock.js';
import type { Wishes } from '../contract/wishes.js';
import { cutEveryDonor, shareDonorLength } from './donor-program.js';
import type { Layout, Part, Segment } from './layout-parts.js';
import {
  type Column,
  constant,
  type Linear,
  LinearProgram,
  merged,
  nothing,
  sumAt,
  sumOf,
  term,
  times,
} from './linear-program.js';
import { add, scale, type Vec } from './plane-vectors.js';
import { type SegmentColumns, segmentColumns } from './segment-columns.js';

/** Where material may be put in, and how far things may move. */
export interface ModelOptions {
  readonly wishes: Wishes;
  readonly stock: Stock;
  /** Largest change of a segment's length; hold: the track lies as it should. */
  readonly reach: (segment: Segment) => { readonly leastMm: number; readonly mostMm: number };
  /** May the segment be changed at all? */
  readonly mayChange: (segment: Segment) => boolean;
  /** Let lengths be anything, without sections: a small program that tells what must move, and a bound. */
  readonly lengthsOnly: boolean;
  /** Work out the cutting of every donor within the program, not only what they give in all. */
  readonly withDonors: boolean;
  /** Greatest shift of a run in x and in y; 0 = it stays. */
  readonly shiftMm: (chain: number) => number;
}

/** Straights of one length that can be put in whole. */
export interface StraightKind {
  readonly lengthMm: number;
  readonly count: number;
  readonly source: 'stock' | 'layout' | 'donor';
  /** Pieces that must have been taken out before these are there; only for source layout. */
  readonly freed: readonly FreedPiece[];
}

export interface FreedPiece {
  readonly segment: number;
  /** Place within the segment's `pieces`. */
  readonly piece: number;
}

export interface Slack {
  readonly column: Column;
  /** Which wish it lets down: index into the list named by `kind`. */
  readonly kind: 'gap' | 'clearance' | 'keep-free' | 'spacing' | 'closing' | 'on-table' | 'safety' | 'apart';
  readonly index: number;
  readonly weight: number;
}

/** The program of one question, with the columns that the rest reads and adds rows to. */
export interface FillerModel {
  readonly layout: Layout;
  readonly program: LinearProgram;
  readonly options: ModelOptions;
  readonly kinds: readonly StraightKind[];
  readonly segments: readonly SegmentColumns[];
  readonly shifts: readonly (readonly [Linear, Linear])[];
  /** Of each run, how far it moves behind so many of its segments; every row about a place is made of these. */
  readonly movements: readonly (readonly (readonly [Linear, Linear])[])[];
  readonly slacks: Slack[];
  /** Left over at the end of each run, x and y. */
  readonly closing: readonly (readonly [Linear, Linear])[];
}

export function buildFillerModel(layout: Layout, options: ModelOptions): FillerModel {
  const program = new LinearProgram();
  const kinds = options.lengthsOnly ? [] : straightKinds(layout, options);
  const segments = layout.segments.map((segment) => segmentColumns(program, segment, kinds, options));
  const slacks: Slack[] = [];
  for (const segment of layout.segments) gapSlack(program, segment, segments[segment.index], slacks, options);
  shareStraights(program, kinds, segments);
  shareDonorLength({ layout, program, options, kinds, segments });
  if (options.withDonors) cutEveryDonor({ layout, program, options, kinds, segments });
  const shifts = layout.chains.map((_, c): readonly [Linear, Linear] => {
    const mostMm = options.shiftMm(c);
    if (mostMm === 0) return [nothing, nothing];
    return [term(1, program.continuous(-mostMm, mostMm)), term(1, program.continuous(-mostMm, mostMm))];
  });
  const closing = layout.chains.map((chain, c) => {
    const left = sumOfChanges(chain.segments, segments, chain.segments.length);
    closeWithin(program, left, options.wishes.closingMm, slacks, c);
    return left;
  });
  const movements = layout.chains.map((chain, c) => movementsOf(chain.segments, segments, shifts[c]));
  const model = { layout, program, options, kinds, segments, shifts, movements, slacks, closing };
  keepStaying(model);
  return model;
}

/** Whole straights on hand: stock, donors whose length is a whole number of steps, and what the layout may give back. */
function straightKinds(layout: Layout, options: ModelOptions): StraightKind[] {
  const { stock, wishes } = options;
  const kinds: StraightKind[] = [];
  const collect = (lengthMm: number, count: number, source: StraightKind['source']) => {
    const same = kinds.findIndex((k) => k.source === source && Math.abs(k.lengthMm - lengthMm) < 1e-6);
    if (same >= 0) kinds[same] = { ...kinds[same], count: kinds[same].count + count };
    else if (count > 0) kinds.push({ lengthMm, count, source, freed: [] });
  };
  for (const straight of stock.straights) collect(straight.lengthMm, straight.count, 'stock');
  for (const donor of stock.donors) {
    const steps = Math.round(donor.lengthMm / wishes.stepMm);
    const whole = Math.abs(steps * wishes.stepMm - donor.lengthMm) < 0.01;
    if (whole && donor.lengthMm >= wishes.shortestFillerMm) collect(donor.lengthMm, 1, 'donor');
  }
  if (wishes.allowFreed) kinds.push(...freedKinds(layout, options));
  return kinds;
}

/** Pieces of nearly one length are one kind: 0.3 mm apart is within what a joint takes up. */
function freedKinds(layout: Layout, options: ModelOptions): StraightKind[] {
  const all = layout.segments.filter(options.mayChange).flatMap((segment) =>
    segment.pieces.map((k, piece) => ({
      lengthMm: segment.stretch.lengths[k].value,
      freed: { segment: segment.index, piece },
    })),
  );
  all.sort((a, b) => a.lengthMm - b.lengthMm);
  const groups: (typeof all)[] = [];
  for (const one of all) {
    const last = groups[groups.length - 1];
    if (last && one.lengthMm - last[0].lengthMm <= 0.3) last.push(one);
    else groups.push([one]);
  }
  return groups.map((group) => ({
    lengthMm: group.reduce((sum, one) => sum + one.lengthMm, 0) / group.length,
    count: group.length,
    source: 'layout',
    freed: group.map((one) => one.freed),
  }));
}

/** Open gaps that are left open let the user down by their length; `closeGaps: false` allows it. */
function gapSlack(
  program: LinearProgram,
  segment: Segment,
  columns: SegmentColumns,
  slacks: Slack[],
  options: ModelOptions,
): void {
  if (segment.openGaps.length === 0 || !options.wishes.closeGaps || options.lengthsOnly) return;
  const openMm = segment.openGaps.reduce((sum, gap) => sum + Math.max(1, gap.length.value), 0);
  const column = program.continuous(0, openMm);
  slacks.push({ column, kind: 'gap', index: segment.index, weight: slackWeights.gap });
  const leftOpen =
    columns.changed === null ? constant(openMm) : sumOf(constant(openMm), term(-openMm, columns.changed));
  program.atLeast(sumOf(term(1, column), times(-1, leftOpen)), 0);
}

/**
 * Millimetres of one kind of shortfall against another. Wishes count alike; a run that does not close or leaves the table
 * is no plan at all, and an open gap is given up last: the track as it lies always closes. A margin that no one wished for
 * comes after all wishes.
 */
export const slackWeights = { safety: 0.3, wish: 1, gap: 20, apart: 50, 'on-table': 100, closing: 5000 } as const;

/** A wish that is missed by less than this is met: a tenth of what a rule shows. */
export const unseenMm = 5e-3;

/** Every whole straight is used at most once. */
function shareStraights(
  program: LinearProgram,
  kinds: readonly StraightKind[],
  segments: readonly SegmentColumns[],
): void {
  kinds.forEach((kind, k) => {
    const used = sumOf(...segments.flatMap((s) => (s.straights.length > 0 ? [term(1, s.straights[k])] : [])));
    if (used.terms.length === 0) return;
    if (kind.source !== 'layout') {
      program.atMost(used, kind.count);
      return;
    }
    const kept = sumOf(...kind.freed.map((f) => term(1, segments[f.segment].keep[f.piece])));
    program.atMost(sumOf(used, kept), kind.count);
  });
}

/** Σ change · direction over the first `count` segments of a run: how far what follows them moves, without the shift. */
function sumOfChanges(
  chainSegments: readonly Segment[],
  columns: readonly SegmentColumns[],
  count: number,
): readonly [Linear, Linear] {
  const used = chainSegments.slice(0, count);
  const part = (axis: 0 | 1): Linear =>
    sumOf(...used.map((segment) => times(segment.stretch.along[axis], columns[segment.index].change)));
  return [part(0), part(1)];
}

/** Keeps what is left over at the end of a run within a circle, written as a regular polygon inside it. */
function closeWithin(
  program: LinearProgram,
  left: readonly [Linear, Linear],
  closingMm: number,
  slacks: Slack[],
  chain: number,
): void {
  if (left[0].terms.length === 0 && left[1].terms.length === 0) return;
  const column = program.continuous(0, 1e5);
  slacks.push({ column, kind: 'closing', index: chain, weight: slackWeights.closing });
  const corners = 16;
  for (let i = 0; i < corners; i++) {
    const angle = (2 * Math.PI * i) / corners;
    const out = sumOf(times(Math.cos(angle), left[0]), times(Math.sin(angle), left[1]), term(-1, column));
    program.atMost(out, closingMm * Math.cos(Math.PI / corners));
  }
}

/** Movement behind 0, 1, 2 … segments of a run: its shift and Σ change · direction of the segments before. */
function movementsOf(
  segments: readonly Segment[],
  columns: readonly SegmentColumns[],
  shift: readonly [Linear, Linear],
): (readonly [Linear, Linear])[] {
  return [0, ...segments.map((_, i) => i + 1)].map((count): readonly [Linear, Linear] => {
    const [x, y] = sumOfChanges(segments, columns, count);
    return [merged(sumOf(shift[0], x)), merged(sumOf(shift[1], y))];
  });
}

/** How far a place moves that lies behind `after` segments of a run. */
export function movement(model: FillerModel, chain: number, after: number): readonly [Linear, Linear] {
  return model.movements[chain][after];
}

/** A place of the planned layout: where it was measured, and what it moves by. */
export function placeOf(model: FillerModel, chain: number, after: number, measured: Vec): readonly [Linear, Linear] {
  const moved = movement(model, chain, after);
  return [sumOf(moved[0], constant(measured[0])), sumOf(moved[1], constant(measured[1]))];
}

/**
 * Of each run the first piece that is to stay stays where it is: its shift makes up for what lies before it. Others move
 * against it by no more than rounding the fillers between them to whole steps makes them.
 */
function keepStaying(model: FillerModel): void {
  const mostMm = Math.min(model.options.wishes.closingMm, model.options.wishes.stepMm);
  model.layout.chains.forEach((chain, c) => {
    const staying = chain.parts.filter(stays);
    for (const [i, part] of staying.entries()) {
      const byMm = i === 0 ? 0 : mostMm;
      for (const axis of movement(model, c, part.after))
        if (axis.terms.length > 0) model.program.row(-byMm, axis, byMm);
    }
  });
}

/** Is this a piece, or a row of pieces, that is to stay? */
export function stays(part: Part): boolean {
  return part.kind === 'curve' ? part.stays : part.kind === 'fixed' && part.group.stays;
}

/** The movement of a solution, as a vector; its changes are worked out once. */
export function movedBy(model: FillerModel, chain: number, after: number, values: Float64Array): Vec {
  let sums = movedInSolution.get(values);
  if (!sums) {
    sums = model.layout.chains.map((parts, c) => {
      const [sx, sy] = model.shifts[c];
      let at: Vec = [sumAt(sx, values), sumAt(sy, values)];
      const list = [at];
      for (const segment of parts.segments) {
        const changeMm = sumAt(model.segments[segment.index].change, values);
        at = add(at, scale(segment.stretch.along, changeMm));
        list.push(at);
      }
      return list;
    });
    movedInSolution.set(values, sums);
  }
  return sums[chain][after];
}

const movedInSolution = new WeakMap<Float64Array, Vec[][]>();
