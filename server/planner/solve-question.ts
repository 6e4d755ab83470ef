import { throwIfCancelled } from '../base/cancel.js';
import {
  changeIn,
  longestStructure,
  type Structure,
  snapStructure,
  solveStructure,
  structureOf,
  untouched,
} from './fixed-structure.js';
import type { Segment } from './layout-parts.js';
import { type Column, type Linear, sumAt, sumOf, times } from './linear-program.js';
import {
  type Case,
  type Clock,
  metMm,
  orderedBy,
  type Posed,
  pose,
  type Question,
  type Solution,
  solutionOf,
  timeFor,
} from './question.js';
import { readSolution, type SolutionPlan } from './read-solution.js';
import type { Lengths } from './solve-lengths.js';

export interface Solved {
  readonly solution: Solution;
  /** The best one found whose fillers can be cut from the donors, when that is another one. */
  readonly plan: SolutionPlan | null;
}

/**
 * Solves one question, level by level in the preferred order.
 * @param lengths what the program of lengths alone found for the same question, if it was asked
 * @returns null when the time ran out without any answer
 */
export async function solveQuestion(
  given: Case,
  question: Question,
  clock: Clock,
  lengths: Lengths | null,
): Promise<Solved | null> {
  const posed = pose(given, { ...question, zoneSides: lengths?.posed.regionRows.zoneSides });
  if (lengths !== null) {
    posed.regionRows.copyFrom(lengths.posed.regionRows);
    posed.spacingRows.copyFrom(lengths.posed.spacingRows);
  }
  const levels = levelsOf(posed, given, lengths);
  const found = new BestFound(levels);
  if (question.freeRuns.size === 0) {
    const held = await solveHeld(posed, clock);
    found.take(held);
    if (held !== null && held.unmetMm <= metMm && !given.wishes.allowFreed && !question.withDonors) {
      if (nothingDoesWithLess(posed, levels, held)) return found.result([]);
    }
  }
  await guesses(posed, levels, lengths, clock, found);
  for (let round = 0; round < 25; round++) {
    if (found.best !== null && performance.now() > clock.deadlineMs) break;
    const answer = await solveLevels(posed, levels, clock, found.best);
    if (answer === null) break;
    found.take(answer.clean ? answer.solution : await repaired(posed, answer.solution, clock));
    if (answer.clean) return found.result(answer.solution.open);
  }
  return found.result(unprovedOf(levels, found.best));
}

/** A tenth of a millimetre of a wish is less than a rule shows. */
const unseen = 0.1;

/** The first level at which a solution is not known to be the best. */
function unprovedOf(levels: readonly Level[], best: Solution | null): Solution['open'] {
  if (best === null) return [];
  const valued = levels.map((level) => ({ level, value: sumAt(level.sum, best.values) }));
  const open = valued.find(({ level, value }) => value > level.least + Math.max(level.slack, unseen));
  return open === undefined ? [] : [{ level: open.level.name, value: open.value, bound: open.level.least }];
}

/** Solutions of small programs that are good to start from. */
async function guesses(
  posed: Posed,
  levels: readonly Level[],
  lengths: Lengths | null,
  clock: Clock,
  found: BestFound,
): Promise<void> {
  const largest = posed.question.prefer === 'largest-loop';
  const late = () => performance.now() > clock.deadlineMs;
  if (posed.question.freeRuns.size > 0) found.take(await solveHeld(posed, clock));
  if (found.best === null || (found.best.unmetMm > metMm && !late())) {
    found.take(await solveStructure(posed, untouched(posed), clock));
  }
  if (lengths === null || late()) return;
  if (largest) found.take(await longest(posed, lengths, clock));
  if (late()) return;
  const guess = await firstGuess(posed, lengths, clock);
  if (guess !== null && found.take(guess) && !late()) found.take(await aroundGuess(posed, levels, guess, clock));
  if (largest && !late()) found.take(await takingNothingOut(posed, levels, clock, found.best));
}

/** Keeps the best of all solutions of one posed question, and the best one that can be cut. */
class BestFound {
  best: Solution | null = null;
  private plan: SolutionPlan | null = null;

  constructor(private readonly levels: readonly Level[]) {}

  /** @returns whether it is the best one so far */
  take(other: Solution | null): boolean {
    if (other === null) return false;
    const known = this.plan?.solution ?? null;
    if (known === null || !isBetter(this.levels, known, other)) this.plan = readSolution(other) ?? this.plan;
    // Of two that are as good, the later one was looked for longer.
    if (this.best !== null && isBetter(this.levels, this.best, other)) return false;
    this.best = other;
    return true;
  }

  /** @param open what the search left unproved */
  result(open: Solution['open']): Solved | null {
    if (this.best === null) return null;
    const solution = { ...this.best, open };
    const { plan } = this;
    if (plan === null) return { solution, plan };
    return {
      solution,
      plan: { ...plan, solution: plan.solution === this.best ? solution : { ...plan.solution, open } },
    };
  }
}

/** Makes each change of length that the small program asks for with whole sections. */
async function firstGuess(posed: Posed, lengths: Lengths, clock: Clock): Promise<Solution | null> {
  const { options } = posed.model;
  const structure = snapStructure(posed, (segment) => {
    const aimMm = changeIn(lengths.posed, segment, lengths.values);
    const open = options.wishes.closeGaps && segment.openGaps.length > 0;
    return Math.abs(aimMm) < 0.1 && !open ? null : { aimMm, withinMm: options.wishes.stepMm };
  });
  return structure === null ? null : solveStructure(posed, structure, clock);
}

/** Looks for something better that changes the same segments as a guess, and leaves the rest as it lies. */
async function aroundGuess(
  posed: Posed,
  levels: readonly Level[],
  guess: Solution,
  clock: Clock,
): Promise<Solution | null> {
  const { model } = posed;
  const fixed = new Map<Column, number>();
  for (const columns of model.segments) {
    if (columns.keep.length === 0 || sumAt(columns.sections, guess.values) > 0.5) continue;
    const segment = model.layout.segments[model.segments.indexOf(columns)];
    if (segment.openGaps.length > 0) continue;
    for (const column of columns.keep) fixed.set(column, 1);
    for (const column of columns.straights) fixed.set(column, 0);
    for (const filler of columns.fillers) fixed.set(filler.used, 0);
  }
  return fixed.size === 0 ? guess : solveNarrowed(posed, levels, fixed, clock, guess);
}

async function longest(posed: Posed, lengths: Lengths, clock: Clock): Promise<Solution | null> {
  const structure = longestStructure(posed, (segment) => changeIn(lengths.posed, segment, lengths.values));
  return structure === null ? null : solveStructure(posed, structure, clock);
}

/** The largest loop mostly keeps every section that lies there: with that known, the program is much smaller. */
function takingNothingOut(posed: Posed, levels: readonly Level[], clock: Clock, known: Solution | null) {
  const kept = new Map(posed.model.segments.flatMap((s) => s.keep.map((column) => [column, 1] as const)));
  return solveNarrowed(posed, levels, kept, clock, known);
}

/** Solves the levels with some columns narrowed to one value each, in half of the time that is left. */
async function solveNarrowed(
  posed: Posed,
  levels: readonly Level[],
  fixed: ReadonlyMap<Column, number>,
  clock: Clock,
  known: Solution | null,
): Promise<Solution | null> {
  const fits = known !== null && [...fixed].every(([column, value]) => Math.abs(known.values[column] - value) < 1e-6);
  const release = posed.model.program.fixFor(fixed);
  try {
    const half = { ...clock, deadlineMs: performance.now() + timeFor(clock, 0.5) };
    const answer = await solveLevels(posed, levels, half, fits ? known : null);
    if (answer === null) return known;
    const found = answer.clean ? answer.solution : await repaired(posed, answer.solution, half);
    return found && (known === null || isBetter(levels, found, known)) ? { ...found, open: [] } : known;
  } finally {
    release();
  }
}

/**
 * The quick way where the track lies as it should: every segment with an open gap gets its own best composition, and the
 * program only chooses lengths. When that meets every wish, and no segment takes what another one could use better, no
 * other plan has fewer cuts or changed sections.
 */
export async function solveHeld(posed: Posed, clock: Clock): Promise<Solution | null> {
  const structure = heldStructure(posed, 'what-is-left');
  return structure === null ? null : solveStructure(posed, structure, clock);
}

function heldStructure(posed: Posed, from: 'what-is-left' | 'whole-stock'): Structure | null {
  const { closeGaps, closingMm, stepMm } = posed.model.options.wishes;
  const withinMm = Math.max(closingMm, stepMm);
  const aim = (segment: Segment) => (closeGaps && segment.openGaps.length > 0 ? { aimMm: 0, withinMm } : null);
  return snapStructure(posed, aim, from);
}

/** Is a plan as good as if each segment had the whole stock for itself? */
function nothingDoesWithLess(posed: Posed, levels: readonly Level[], held: Solution): boolean {
  const least = heldStructure(posed, 'whole-stock');
  if (least === null) return true;
  const values = new Float64Array(posed.model.program.columnCount);
  for (const [column, value] of least) values[column] = value;
  return levels.slice(1).every(({ sum, slack }) => sumAt(sum, held.values) <= sumAt(sum, values) + slack);
}

/** A solution that breaks a wish unnoticed keeps its structure; lengths and places are chosen again with that wish. */
async function repaired(posed: Posed, solution: Solution, clock: Clock): Promise<Solution | null> {
  const again = await solveStructure(posed, structureOf(posed, solution.values), clock);
  return again && { ...again, open: solution.open };
}

/** Compares two solutions of one posed question level by level. */
function isBetter(levels: readonly Level[], a: Solution, b: Solution): boolean {
  for (const level of levels) {
    const lessBy = sumAt(level.sum, b.values) - sumAt(level.sum, a.values);
    if (Math.abs(lessBy) > Math.max(level.slack, metMm)) return lessBy > 0;
  }
  return false;
}

interface Level {
  readonly name: string;
  readonly sum: Linear;
  /** How much worse than its best a later level may make it. */
  readonly slack: number;
  readonly gap: number;
  /** No plan can have less than this. */
  readonly least: number;
}

/** The order in which plans are compared; `prefer` moves what the user cares for most to the front. */
function levelsOf(posed: Posed, given: Case, lengths: Lengths | null): Level[] {
  const { model, question } = posed;
  const cuts = sumOf(...model.segments.map((s) => s.cuts));
  const sections = sumOf(...model.segments.map((s) => s.sections));
  const first: Level = { name: 'wishes', sum: posed.unmet, slack: 1e-4, gap: 1e-4, least: lengths?.unmetMm ?? 0 };
  const ordered = (name: string, a: Linear, b: Linear): Level => {
    return { name, sum: sumOf(times(orderedBy, a), b), slack: 0.1, gap: 0.9, least: 0 };
  };
  if (question.prefer === 'least-change') return [first, ordered('sections', sections, cuts)];
  const fewest = ordered('cuts', cuts, sections);
  if (question.prefer === 'fewest-cuts') return [first, fewest];
  const step = given.wishes.stepMm;
  return [
    first,
    { name: 'length', sum: posed.shorter, slack: step, gap: step / 2, least: lengths?.shorterMm ?? -Infinity },
    fewest,
  ];
}

interface LevelsAnswer {
  readonly solution: Solution;
  /** False: it breaks a wish that had no row in the program; now it has one. */
  readonly clean: boolean;
}

/** Solves the levels one after the other, and stops as soon as an answer breaks a wish that had no row yet. */
async function solveLevels(
  posed: Posed,
  levels: readonly Level[],
  clock: Clock,
  known: Solution | null,
): Promise<LevelsAnswer | null> {
  const { program } = posed.model;
  const open: Solution['open'][number][] = [];
  let values = known?.values;
  program.clearLevels();
  for (const level of levels) {
    throwIfCancelled(clock.signal);
    const reached = values === undefined ? Infinity : sumAt(level.sum, values);
    if (values === undefined || reached > level.least + level.slack) {
      const timeLimitMs = timeFor(clock, 0.6);
      const start = values?.length === program.columnCount ? values : asItLies(posed);
      const answer = await program.least(level.sum, { timeLimitMs, start, absoluteGap: level.gap });
      const found = answer.status === 'optimal' || answer.status === 'feasible';
      if (!found && values === undefined) return null;
      if (found && answer.objective < reached - 1e-9) values = answer.values;
      const value = Math.min(reached, answer.objective);
      if (answer.status !== 'optimal')
        open.push({ level: level.name, value, bound: Math.max(answer.bound, level.least) });
    }
    if (posed.addBroken(values as Float64Array) > 0) return unclean(posed, values as Float64Array, open);
    program.keepLevel(level.sum, sumAt(level.sum, values as Float64Array) + level.slack);
  }
  const solution = await nearest(posed, values as Float64Array, clock);
  program.clearLevels();
  return { solution: { ...(solution ?? solutionOf(posed, values as Float64Array, open)), open }, clean: true };
}

function unclean(posed: Posed, values: Float64Array, open: Solution['open']): LevelsAnswer {
  posed.model.program.clearLevels();
  return { solution: solutionOf(posed, values, open), clean: false };
}

/** Programs with more whole columns than this keep the sections they have; only lengths and places are chosen again. */
const smallProgram = 60;

/**
 * Of the plans that are alike in wishes, cuts and changed sections, the one nearest to the track as it lies. What it is
 * made of is looked through again only where that is quick.
 */
async function nearest(posed: Posed, values: Float64Array, clock: Clock): Promise<Solution | null> {
  const same = await solveStructure(posed, structureOf(posed, values), clock);
  const { program } = posed.model;
  const leftMs = clock.deadlineMs - performance.now();
  if (same === null || program.wholeCount > smallProgram || leftMs < 100) return same;
  const start = same.values.length === program.columnCount ? same.values : undefined;
  const answer = await program.least(posed.tieBreak, { timeLimitMs: leftMs / 2, start, absoluteGap: 0.2 });
  if (answer.status !== 'optimal' && answer.status !== 'feasible') return same;
  if (posed.addBroken(answer.values) === 0) return solutionOf(posed, answer.values, []);
  return solveStructure(posed, structureOf(posed, answer.values), clock);
}

/** A plan that is always there: nothing changes. The solver completes it, and so never comes back with nothing. */
function asItLies(posed: Posed): ReadonlyMap<Column, number> {
  const values = new Map<Column, number>();
  for (const segment of posed.model.segments) {
    for (const column of segment.keep) values.set(column, 1);
    for (const column of segment.straights) values.set(column, 0);
    for (const filler of segment.fillers) values.set(filler.used, 0).set(filler.steps, 0);
    if (segment.changed !== null) values.set(segment.changed, 0);
  }
  return values;
}
