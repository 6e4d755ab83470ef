import { throwIfCancelled } from '../base/cancel.js';
import type { Report } from '../contract/report.js';
import type { Stock } from '../contract/stock.js';
import type { Preference, Wishes } from '../contract/wishes.js';
import type { Chain } from './chain.js';
import { buildFillerModel, type FillerModel, sumAt } from './filler-model.js';
import { layoutParts, type Segment } from './layout-parts.js';
import { type Column, type Linear, sumOf, term, times } from './linear-program.js';
import { type Region, wishRegions } from './regions.js';
import { SpacingRows, type SpacingRule } from './spacing-rows.js';
import { type TrackSpan, trackSpans } from './spans.js';
import type { TableShape } from './table-shape.js';
import { tieBreakers } from './tie-breakers.js';
import { RegionRows } from './wish-rows.js';

/** Everything that does not change between the questions put to the solver for one plan. */
export interface Case {
  readonly report: Report;
  readonly chains: readonly Chain[];
  readonly wishes: Wishes;
  readonly stock: Stock;
  readonly table: TableShape;
  /** Outside face of the outer rail heads from the centre line. */
  readonly faceMm: number;
  readonly spacingRules: readonly SpacingRule[];
  /** Least clearance that a side has without a wish. */
  readonly edgeMm: (side: TableShape['sides'][number], prefer: Preference) => number;
}

/** How free the solver is. */
export interface Question {
  readonly prefer: Preference;
  /** Runs whose shape and place may change; the others lie as they should and only get their gaps filled. */
  readonly freeRuns: ReadonlySet<string>;
  /** Keep each group of joined sections where it lies, so that each gap gets its own piece. */
  readonly keepsGroups: boolean;
  /** Work out the cutting of every donor within the program. */
  readonly withDonors?: boolean;
}

export interface Solution {
  readonly question: Question;
  readonly model: FillerModel;
  readonly values: Float64Array;
  readonly unmetMm: number;
  readonly cuts: number;
  readonly sections: number;
  /** Levels of the order that were not proved the best in the time given. */
  readonly open: readonly { readonly level: string; readonly value: number; readonly bound: number }[];
}

export interface Clock {
  readonly deadlineMs: number;
  readonly signal?: AbortSignal;
}

/** Most that one segment or one run may move: more than any table's spare room. */
const reachMm = 1000;

/** Solves one question level by level in the preferred order. @returns null when the time ran out without any answer */
export async function solveQuestion(given: Case, question: Question, clock: Clock): Promise<Solution | null> {
  const { model, spans, regions } = setUp(given, question);
  const regionRows = new RegionRows(model, spans, regions);
  const spacingRows = new SpacingRows(model, spans, given.spacingRules);
  const tieBreak = tieBreakers(model, question.freeRuns.size === 0);
  regionRows.addNear(100);
  spacingRows.addNear(30);
  const levels = levelsOf(model, question, tieBreak, given);
  const addBroken = (values: Float64Array) => regionRows.addBroken(values) + spacingRows.addBroken(values);
  let last: Start = asItLies(model);
  for (let round = 0; round < 25; round++) {
    const answer = await solveLevels(model, levels, addBroken, clock, last);
    if (answer === null) return null;
    last = answer.values;
    if (answer.clean) return solutionOf(model, question, answer);
  }
  return null;
}

function setUp(given: Case, question: Question): { model: FillerModel; spans: TrackSpan[]; regions: Region[] } {
  const { wishes, stock, report } = given;
  const staying = new Set(wishes.stay.flatMap((s) => s.pieces.map((p) => `${s.run}:${p}`)));
  const layout = layoutParts(given.chains, {
    jointAllowanceMm: wishes.jointAllowanceMm,
    stays: (run, piece) => staying.has(`${run}:${piece}`),
    keepsGroups: () => question.keepsGroups,
  });
  const isFree = (run: string) => question.freeRuns.has(run);
  const holdMm = Math.max(wishes.closingMm, wishes.stepMm);
  const model = buildFillerModel(layout, {
    wishes,
    stock,
    withDonors: question.withDonors ?? false,
    mayChange: (segment) => isFree(segment.stretch.run) || segment.openGaps.length > 0,
    reach: (segment: Segment) =>
      isFree(segment.stretch.run) ? { leastMm: -segment.nowMm, mostMm: reachMm } : { leastMm: -holdMm, mostMm: holdMm },
    shiftMm: (chain) => (isFree(given.chains[chain].run) ? reachMm : holdMm),
  });
  const regions = wishRegions({ wishes, table: given.table, edgeMm: (side) => given.edgeMm(side, question.prefer) });
  return { model, spans: trackSpans(layout, report.track.gaugeMm / 2 + report.track.headWidthMm), regions };
}

interface Level {
  readonly name: string;
  readonly sum: Linear;
  /** How much worse than its best a later level may make it. */
  readonly slack: number;
  readonly gap: number;
}

/** The order in which plans are compared; `prefer` moves what the user cares for most to the front. */
function levelsOf(model: FillerModel, question: Question, tieBreak: Linear, given: Case): Level[] {
  const unmet = sumOf(...model.slacks.map((s) => term(s.weight, s.column)));
  const cuts = sumOf(...model.segments.map((s) => s.cuts));
  const sections = sumOf(...model.segments.map((s) => s.sections));
  const first: Level = { name: 'wishes', sum: unmet, slack: 1e-4, gap: 1e-4 };
  const nearestGap = question.freeRuns.size === 0 ? 0.01 : 0.2;
  const last: Level = { name: 'nearest', sum: tieBreak, slack: 0, gap: nearestGap };
  const ordered = (a: Linear, b: Linear): Level => ({
    name: 'cuts',
    sum: sumOf(times(100, a), b),
    slack: 0.1,
    gap: 0.9,
  });
  if (question.prefer === 'least-change') return [first, ordered(sections, cuts), last];
  const fewest = ordered(cuts, sections);
  if (question.prefer === 'fewest-cuts') return [first, fewest, last];
  const growth = sumOf(...model.segments.map((s) => times(-1, s.change)));
  const step = given.wishes.stepMm;
  return [first, { name: 'length', sum: growth, slack: step, gap: step / 2 }, fewest, last];
}

type Start = Float64Array | ReadonlyMap<Column, number>;

/** A plan that is always there: nothing changes. The solver completes it, and so never comes back with nothing. */
function asItLies(model: FillerModel): Start {
  const values = new Map<Column, number>();
  for (const segment of model.segments) {
    for (const column of segment.keep) values.set(column, 1);
    for (const column of segment.straights) values.set(column, 0);
    for (const filler of segment.fillers) values.set(filler.used, 0).set(filler.steps, 0);
    if (segment.changed !== null) values.set(segment.changed, 0);
  }
  return values;
}

interface LevelsAnswer {
  readonly values: Float64Array;
  readonly clean: boolean;
  readonly open: Solution['open'];
}

/** Solves the levels one after the other; stops early, not clean, when an answer breaks a wish that had no row yet. */
async function solveLevels(
  model: FillerModel,
  levels: readonly Level[],
  addBroken: (values: Float64Array) => number,
  clock: Clock,
  start: Start,
): Promise<LevelsAnswer | null> {
  const { program } = model;
  const base = program.rowCount;
  let values = start;
  const open: Solution['open'][number][] = [];
  for (const [i, level] of levels.entries()) {
    throwIfCancelled(clock.signal);
    const leftMs = clock.deadlineMs - performance.now();
    const usable = values instanceof Float64Array && values.length !== program.columnCount ? undefined : values;
    const answer = await program.least(level.sum, {
      timeLimitMs: Math.max(80, i === levels.length - 1 ? leftMs : leftMs * 0.6),
      start: usable,
      absoluteGap: level.gap,
    });
    if (answer.status === 'infeasible' || answer.status === 'no-answer') {
      program.keepRows(base);
      return null;
    }
    values = answer.values;
    if (answer.status === 'feasible') open.push({ level: level.name, value: answer.objective, bound: answer.bound });
    const rows = program.rowCount;
    if (addBroken(values) > 0) {
      program.dropRows(base, rows);
      return { values, clean: false, open };
    }
    if (i < levels.length - 1) program.atMost(level.sum, answer.objective + level.slack);
  }
  program.keepRows(base);
  return { values: values as Float64Array, clean: true, open };
}

function solutionOf(model: FillerModel, question: Question, answer: LevelsAnswer): Solution {
  const total = (sums: readonly Linear[]) => sumAt(sumOf(...sums), answer.values);
  return {
    question,
    model,
    values: answer.values,
    unmetMm: total(model.slacks.map((s) => term(s.weight, s.column))),
    cuts: Math.round(total(model.segments.map((s) => s.cuts))),
    sections: Math.round(total(model.segments.map((s) => s.sections))),
    open: answer.open,
  };
}
