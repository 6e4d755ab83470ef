import { throwIfCancelled } from '../base/cancel.js';
import { sumAt } from './filler-model.js';
import { changeIn, snapStructure, solveStructure, structureOf } from './fixed-structure.js';
import { type Column, type Linear, sumOf, term, times } from './linear-program.js';
import { type Case, type Clock, type Posed, pose, type Question, type Solution, solutionOf } from './question.js';

/** Unmet wishes within this are met: far below what a saw or a file does. */
const metMm = 1e-3;

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
): Promise<Solution | null> {
  const posed = pose(given, question);
  const levels = levelsOf(posed, given);
  const simple = !given.wishes.allowFreed && !question.withDonors;
  let best = simple ? await solveHeld(posed, clock) : null;
  if (best !== null && question.freeRuns.size === 0 && best.unmetMm <= metMm) return best;
  if (simple && lengths !== null) {
    levels[0] = { ...levels[0], least: lengths.unmetMm };
    const guess = await firstGuess(posed, lengths, clock);
    if (guess && (best === null || isBetter(guess, best))) best = guess;
    if (guess && best === guess) best = await aroundGuess(posed, levels, guess, clock);
  }
  for (let round = 0; round < 25; round++) {
    const answer = await solveLevels(posed, levels, clock, best);
    if (answer === null) return best;
    if (answer.clean) return answer.solution;
    const again = await repaired(posed, answer.solution, clock);
    if (again && (best === null || isBetter(again, best))) best = again;
    if (performance.now() > clock.deadlineMs) return best;
  }
  return best;
}

/** What the program of lengths alone says: a bound, and which segments change by how much. */
export interface Lengths {
  readonly posed: Posed;
  readonly values: Float64Array;
  /** No plan of sections can leave less unmet. */
  readonly unmetMm: number;
}

/**
 * Lets every length be anything: what is unmet then is unmet by every plan, and of the ways to get there the one that
 * changes the fewest stretches is a good guess.
 */
export async function solveLengths(given: Case, question: Question, clock: Clock): Promise<Lengths | null> {
  const posed = pose(given, question, true);
  const { program } = posed.model;
  const moved = sumOf(...posed.moved.map((c) => term(movedWeightMm, c)));
  const near = sumOf(times(1000, posed.unmet), posed.tieBreak, moved);
  let unmetMm = 0;
  for (let round = 0; round < 12; round++) {
    throwIfCancelled(clock.signal);
    const leftMs = clock.deadlineMs - performance.now();
    program.clearLevels();
    const sides = new Set(posed.regionRows.choices());
    const found = await program.least(near, {
      timeLimitMs: Math.max(150, leftMs * 0.3),
      wholeOnly: sides,
      absoluteGap: 1,
    });
    if (found.status !== 'optimal' && found.status !== 'feasible') return null;
    if (posed.addBroken(found.values) > 0) continue;
    const least = await program.least(posed.unmet, { timeLimitMs: Math.max(100, leftMs * 0.2), start: found.values });
    unmetMm = Math.max(0, least.bound);
    program.keepLevel(posed.unmet, sumAt(posed.unmet, found.values) + 1e-4);
    const timeLimitMs = Math.max(60, Math.min(250, leftMs * 0.2));
    const fewer = await program.least(sumOf(posed.tieBreak, moved), {
      timeLimitMs,
      start: found.values,
      absoluteGap: 50,
    });
    const better = fewer.values.length > 0 && posed.addBroken(fewer.values) === 0;
    return { posed, values: better ? fewer.values : found.values, unmetMm };
  }
  return null;
}

/** One changed stretch more or less is worth as much as this much movement. */
const movedWeightMm = 200;

/** Makes each change of length that the small program asks for with whole sections. */
async function firstGuess(posed: Posed, lengths: Lengths, clock: Clock): Promise<Solution | null> {
  const { options } = posed.model;
  const sides = posed.regionRows.copyFrom(lengths.posed.regionRows, lengths.values);
  posed.spacingRows.copyFrom(lengths.posed.spacingRows);
  const structure = snapStructure(posed, (segment) => {
    const aimMm = changeIn(lengths.posed, segment, lengths.values);
    const open = options.wishes.closeGaps && segment.openGaps.length > 0;
    return Math.abs(aimMm) < 0.1 && !open ? null : { aimMm, withinMm: options.wishes.stepMm };
  });
  return structure === null ? null : solveStructure(posed, new Map([...structure, ...sides]), clock);
}

/** Looks for something better that changes the same segments as a guess, and leaves the rest as it lies. */
async function aroundGuess(posed: Posed, levels: readonly Level[], guess: Solution, clock: Clock): Promise<Solution> {
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
  if (fixed.size === 0) return guess;
  const release = model.program.fixFor(fixed);
  try {
    const half = { ...clock, deadlineMs: performance.now() + (clock.deadlineMs - performance.now()) * 0.5 };
    const answer = await solveLevels(posed, levels, half, guess);
    const found =
      answer === null ? null : answer.clean ? answer.solution : await repaired(posed, answer.solution, half);
    return found && isBetter(found, guess) ? { ...found, open: [] } : guess;
  } finally {
    release();
  }
}

/**
 * The quick way where the track lies as it should: every segment with an open gap gets its own best composition, and the
 * program only chooses lengths. When that meets every wish, no other plan has fewer cuts or changed sections.
 */
async function solveHeld(posed: Posed, clock: Clock): Promise<Solution | null> {
  const { closeGaps } = posed.model.options.wishes;
  const structure = snapStructure(posed, (segment) =>
    closeGaps ? { aimMm: 0, withinMm: posed.model.options.reach(segment).mostMm } : null,
  );
  return structure === null ? null : solveStructure(posed, structure, clock);
}

/** A solution that breaks a wish unnoticed keeps its structure; lengths and places are chosen again with that wish. */
async function repaired(posed: Posed, solution: Solution, clock: Clock): Promise<Solution | null> {
  const again = await solveStructure(posed, structureOf(posed, solution.values), clock);
  return again && { ...again, open: solution.open };
}

function isBetter(a: Solution, b: Solution): boolean {
  if (Math.abs(a.unmetMm - b.unmetMm) > metMm) return a.unmetMm < b.unmetMm;
  return a.cuts < b.cuts || (a.cuts === b.cuts && a.sections < b.sections);
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
function levelsOf(posed: Posed, given: Case): Level[] {
  const { model, question } = posed;
  const cuts = sumOf(...model.segments.map((s) => s.cuts));
  const sections = sumOf(...model.segments.map((s) => s.sections));
  const first: Level = { name: 'wishes', sum: posed.unmet, slack: 1e-4, gap: 1e-4, least: 0 };
  const ordered = (name: string, a: Linear, b: Linear): Level => {
    return { name, sum: sumOf(times(100, a), b), slack: 0.1, gap: 0.9, least: 0 };
  };
  if (question.prefer === 'least-change') return [first, ordered('sections', sections, cuts)];
  const fewest = ordered('cuts', cuts, sections);
  if (question.prefer === 'fewest-cuts') return [first, fewest];
  const growth = sumOf(...model.segments.map((s) => times(-1, s.change)));
  const step = given.wishes.stepMm;
  return [first, { name: 'length', sum: growth, slack: step, gap: step / 2, least: -Infinity }, fewest];
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
      const timeLimitMs = Math.max(100, (clock.deadlineMs - performance.now()) * 0.6);
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
