import type { RuledGap } from '../contract/gap-readings.js';
import type { Report } from '../contract/report.js';
import type { Stock } from '../contract/stock.js';
import type { Preference, Wishes } from '../contract/wishes.js';
import type { Chain, Stretch } from './chain.js';
import { buildFillerModel, type FillerModel } from './filler-model.js';
import { layoutParts, type Segment } from './layout-parts.js';
import { type Column, type Linear, nothing, sumAt, sumOf, term, times } from './linear-program.js';
import { wishRegions } from './regions.js';
import { SpacingRows, type SpacingRule } from './spacing-rows.js';
import { trackSpans } from './spans.js';
import type { TableShape } from './table-shape.js';
import { tieBreakers } from './tie-breakers.js';
import { RegionRows, type ZoneSides } from './wish-rows.js';

/** Everything that does not change between the questions put to the solver for one plan. */
export interface Case {
  /** As measured, open gaps in which a rule was laid as long as counts there. */
  readonly report: Report;
  /** The gaps in which a rule was laid. */
  readonly byRule: readonly RuledGap[];
  readonly chains: readonly Chain[];
  readonly wishes: Wishes;
  readonly stock: Stock;
  readonly table: TableShape;
  /** Outside face of the outer rail heads from the centre line. */
  readonly faceMm: number;
  readonly spacingRules: readonly SpacingRule[];
  /** Runs whose measured track breaks a wish. */
  readonly broken: ReadonlySet<string>;
  /** Zones, by their place in the wishes, that are given up after all wishes: the longest car would hit them. */
  readonly firmZones?: ReadonlySet<number>;
  /** Least clearance that a side has without a wish. */
  readonly edgeMm: (side: TableShape['sides'][number]) => number;
  /** The same, given up before any wish: how near to the edge a loop grows that is to be as large as can be. */
  readonly safetyMm: (side: TableShape['sides'][number], prefer: Preference) => number;
}

/** How free the solver is. */
export interface Question {
  readonly prefer: Preference;
  /** Runs whose shape and place may change; the others lie as they should and only get their gaps filled. */
  readonly freeRuns: ReadonlySet<string>;
  /** Runs that keep their shape but may be shifted as a whole. */
  readonly placedRuns: ReadonlySet<string>;
  /** Close gaps that one piece fits each by itself; else sections of a stretch may slide to make one gap of several. */
  readonly gapByGap: boolean;
  /** Leave sections where they are whose ends were not seen: how long they are is not sure. */
  readonly keepsDoubtful: boolean;
  /** Work out the cutting of every donor within the program. */
  readonly withDonors?: boolean;
  /** Which way round the zones the runs go; missing: the nearer one, span by span. */
  readonly zoneSides?: ZoneSides;
}

export interface Solution {
  readonly question: Question;
  readonly model: FillerModel;
  readonly values: Float64Array;
  readonly unmetMm: number;
  /** Where the largest loop is asked for, how much shorter all is than now; else nought. */
  readonly shorterMm: number;
  readonly cuts: number;
  readonly sections: number;
  /** Levels of the order that were not proved the best in the time given. */
  readonly open: readonly { readonly level: string; readonly value: number; readonly bound: number }[];
}

export interface Clock {
  readonly deadlineMs: number;
  readonly signal?: AbortSignal;
}

/** A share of the time left, and never less than a small program needs. */
export function timeFor(clock: Clock, share: number): number {
  return Math.max(40, (clock.deadlineMs - performance.now()) * share);
}

/** A question made into a program, and the ways to ask it. */
export interface Posed {
  readonly question: Question;
  readonly model: FillerModel;
  /** Weighted sum of all that lets the user down. */
  readonly unmet: Linear;
  /** What makes the track shorter; nothing where the user does not ask for the largest loop. */
  readonly shorter: Linear;
  readonly tieBreak: Linear;
  /** All of these as one sum, each far outweighing the next: least for the best lengths and places of given sections. */
  readonly aim: Linear;
  /** Adds rows for what a solution breaks without the program knowing. @returns how many were added */
  readonly addBroken: (values: Float64Array) => number;
  readonly regionRows: RegionRows;
  readonly spacingRows: SpacingRows;
  /** For each segment of a free run: 1 when its length changes. */
  readonly moved: readonly Column[];
}

/** Most that one segment or one run may move: more than any table's spare room. */
const reachMm = 1000;

/** Most that one segment grows: two full sections and a bit, or all that a table can take. */
const growthMm = 600;
const largestGrowthMm = 1500;

/** One of what counts first (cuts, or changed sections) outweighs all of what counts second. */
export const orderedBy = 100;

/** Unmet wishes within this are met: far below what a saw or a file does. */
export const metMm = 1e-3;

/** Rows are there from the start for track that is within these distances of breaking a wish. */
const nearRegionMm = 300;
const nearTrackMm = 100;

/**
 * @param lengthsOnly leaves out what sections there are: a small program for a bound and a first guess
 */
export function pose(given: Case, question: Question, lengthsOnly = false): Posed {
  const { wishes, stock } = given;
  const staying = new Set(wishes.stay.flatMap((s) => s.pieces.map((p) => `${s.run}:${p}`)));
  const doubtful = new Set(given.chains.flatMap((c) => [...c.doubtful].map((piece) => `${c.run}:${piece}`)));
  const layout = layoutParts(given.chains, {
    jointAllowanceMm: wishes.jointAllowanceMm,
    stays: (run, piece) => staying.has(`${run}:${piece}`),
    keepsGroups: (stretch) => question.gapByGap && eachGapFits(stretch, given),
    keepsPiece: (run, piece) => question.keepsDoubtful && doubtful.has(`${run}:${piece}`),
  });
  const isFree = (run: string) => question.freeRuns.has(run);
  const holdMm = Math.max(wishes.closingMm, wishes.stepMm);
  const mostMm = question.prefer === 'largest-loop' ? largestGrowthMm : growthMm;
  const model = buildFillerModel(layout, {
    wishes,
    stock,
    lengthsOnly,
    withDonors: question.withDonors ?? false,
    mayChange: (segment) => isFree(segment.stretch.run) || segment.openGaps.length > 0,
    reach: (segment: Segment) =>
      isFree(segment.stretch.run) ? { leastMm: -segment.nowMm, mostMm } : { leastMm: -holdMm, mostMm: holdMm },
    shiftMm: (chain) => {
      const { run } = given.chains[chain];
      // What is to stay holds its run; the shift only makes up for what lies before it.
      const heldByPiece = wishes.stay.some((s) => s.run === run && s.pieces.length > 0);
      return isFree(run) || question.placedRuns.has(run) || heldByPiece ? reachMm : holdMm;
    },
  });
  const spans = trackSpans(layout, given.faceMm);
  const safetyMm = (side: TableShape['sides'][number]) => given.safetyMm(side, question.prefer);
  const { table, edgeMm, firmZones } = given;
  const regions = wishRegions({ wishes, table, edgeMm, safetyMm, firmZones });
  const regionRows = new RegionRows(model, spans, regions, question.zoneSides ?? new Map());
  const spacingRows = new SpacingRows(model, spans, given.spacingRules);
  const held = question.freeRuns.size === 0;
  const tieBreak = tieBreakers(model, held);
  const moved = movedColumns(model, isFree);
  const unmet = sumOf(...model.slacks.map((s) => term(s.weight, s.column)));
  const shorter = question.prefer === 'largest-loop' ? shorterBy(model, given) : nothing;
  regionRows.addNear(held ? 0 : nearRegionMm);
  spacingRows.addNear(held ? 0 : nearTrackMm);
  return {
    question,
    model,
    unmet,
    shorter,
    tieBreak,
    aim: sumOf(times(unmetWeight, unmet), times(shorterWeight, shorter), tieBreak),
    regionRows,
    spacingRows,
    moved,
    addBroken: (values) => regionRows.addBroken(values) + spacingRows.addBroken(values),
  };
}

/** Gains of the aim below this, a tenth of a millimetre of movement, are not worth another round. */
export const worthwhile = 0.1;

/** A millimetre of a wish outweighs any length, and a millimetre of length any tie-breaker. */
const unmetWeight = 1000;
const shorterWeight = 20;

/** Σ −change. Where lengths alone are asked for, no more is put in than there is at hand. */
function shorterBy(model: FillerModel, { stock, wishes }: Case): Linear {
  const longer = sumOf(...model.segments.map((s) => s.change));
  if (model.options.lengthsOnly && longer.terms.length > 0) {
    const straightsMm = stock.straights.reduce((mm, s) => mm + s.count * s.lengthMm, 0);
    const donorsMm = stock.donors.reduce((mm, d) => mm + d.lengthMm, 0);
    const openMm = model.layout.segments.flatMap((s) => s.openGaps).reduce((mm, g) => mm + g.length.value, 0);
    const jointsMm = 50 * wishes.jointAllowanceMm;
    model.program.atMost(longer, straightsMm + donorsMm + jointsMm - openMm);
  }
  return times(-1, longer);
}

/** A segment whose length changes has at least one section changed. */
function movedColumns(model: FillerModel, isFree: (run: string) => boolean): Column[] {
  const { program } = model;
  return model.layout.segments
    .filter((s) => isFree(s.stretch.run))
    .map((segment) => {
      const { change, sections } = model.segments[segment.index];
      const { leastMm, mostMm } = model.options.reach(segment);
      const moved = program.yesNo();
      program.atMost(sumOf(change, term(-mostMm, moved)), 0);
      program.atLeast(sumOf(change, term(-leastMm, moved)), 0);
      if (segment.openGaps.length === 0 && !model.options.lengthsOnly)
        program.atLeast(sumOf(sections, term(-1, moved)), 0);
      return moved;
    });
}

/** Two or more open gaps, each long enough for a filler of its own, and none too long for one. */
function eachGapFits(stretch: Stretch, { wishes, stock }: Case): boolean {
  const open = stretch.gaps.filter((g) => g.open).map((g) => g.length.value);
  const longestMm = Math.max(0, ...stock.donors.map((d) => d.lengthMm - stock.kerfMm));
  const halfStep = wishes.stepMm / 2;
  const shortestMm = Math.ceil(wishes.shortestFillerMm / wishes.stepMm - 1e-6) * wishes.stepMm;
  return open.length > 1 && open.every((mm) => mm >= shortestMm - halfStep && mm <= longestMm + halfStep);
}

/** A solution of a posed question, with what it is compared by. */
export function solutionOf(posed: Posed, values: Float64Array, open: Solution['open']): Solution {
  const { model, question } = posed;
  return {
    question,
    model,
    values,
    unmetMm: sumAt(posed.unmet, values),
    shorterMm: sumAt(posed.shorter, values),
    cuts: Math.round(sumAt(sumOf(...model.segments.map((s) => s.cuts)), values)),
    sections: Math.round(sumAt(sumOf(...model.segments.map((s) => s.sections)), values)),
    open,
  };
}
