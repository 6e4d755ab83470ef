import { throwIfCancelled } from '../base/cancel.js';
import type { FillerModel } from './filler-model.js';
import { bestHeldOption, type HeldOption } from './held-options.js';
import type { Segment } from './layout-parts.js';
import { type Column, sumAt } from './linear-program.js';
import { longestPair, oppositePairs, type StockLeft } from './pair-options.js';
import { type Clock, metMm, type Posed, type Solution, solutionOf, timeFor, worthwhile } from './question.js';
import { roundSteps } from './round-steps.js';

/** Which sections make up each segment; lengths of fillers and places of runs are still open. */
export type Structure = ReadonlyMap<Column, number>;

/**
 * Each segment's own best composition for a wished change of its length, one after the other from what is left of the
 * stock; or all of them from the whole stock, which tells what no plan can do with less than.
 * @param changeMm wished change and what it may be off by; null = left as it lies
 * @returns null where a segment cannot be made so
 */
export function snapStructure(
  posed: Posed,
  changeMm: (segment: Segment) => { readonly aimMm: number; readonly withinMm: number } | null,
  from: 'what-is-left' | 'whole-stock' = 'what-is-left',
): Structure | null {
  const { model, question } = posed;
  const fixed = new Map<Column, number>();
  const atHand = model.kinds.map((kind) => kind.count);
  const sectionsFirst = question.prefer === 'least-change';
  for (const segment of model.layout.segments) {
    if (!model.options.mayChange(segment)) continue;
    const aim = changeMm(segment);
    const option =
      aim === null ? asItLies(model, segment) : bestHeldOption(model, segment, { ...aim, sectionsFirst, atHand });
    if (option === null) return null;
    if (from === 'what-is-left') {
      option.straights.forEach((n, k) => {
        atHand[k] -= n;
      });
    }
    fixSegment(model, segment, option, aim !== null, fixed);
  }
  return fixed;
}

/** For the largest loop: opposite segments both as long as may be; what has no opposite is snapped to its own length. */
export function longestStructure(posed: Posed, mostMm: (segment: Segment) => number): Structure | null {
  const { model } = posed;
  const fixed = new Map<Column, number>();
  let left: StockLeft = { straights: model.kinds.map((kind) => kind.count), fillersMm: [] };
  const free = model.layout.segments.filter(model.options.mayChange);
  const done = new Set<Segment>();
  const pairs = oppositePairs(free, mostMm).sort((a, b) => b.mostMm - a.mostMm);
  for (const pair of pairs) {
    const found = longestPair(model, pair, left);
    if (found === null) continue;
    left = found;
    pair.segments.forEach((segment, i) => {
      done.add(segment);
      fixSegment(model, segment, found.options[i], true, fixed);
    });
  }
  for (const segment of free) {
    if (done.has(segment)) continue;
    const aim = { aimMm: mostMm(segment), withinMm: model.options.wishes.stepMm };
    const snapped = bestHeldOption(model, segment, { ...aim, sectionsFirst: false, atHand: left.straights });
    fixSegment(model, segment, snapped ?? asItLies(model, segment), snapped !== null, fixed);
    if (snapped) left = { ...left, straights: left.straights.map((n, k) => n - snapped.straights[k]) };
  }
  return fixed;
}

/** Every section where it lies, open gaps left open. */
export function untouched(posed: Posed): Structure {
  const fixed = new Map<Column, number>();
  for (const segment of posed.model.layout.segments) {
    if (posed.model.options.mayChange(segment)) {
      fixSegment(posed.model, segment, asItLies(posed.model, segment), false, fixed);
    }
  }
  return fixed;
}

function asItLies(model: FillerModel, segment: Segment): HeldOption {
  return { kept: segment.pieces.map((_, i) => i), straights: model.kinds.map(() => 0), fillers: 0 };
}

function fixSegment(
  model: FillerModel,
  segment: Segment,
  option: HeldOption,
  remade: boolean,
  fixed: Map<Column, number>,
): void {
  const columns = model.segments[segment.index];
  columns.keep.forEach((column, i) => {
    fixed.set(column, option.kept.includes(i) ? 1 : 0);
  });
  columns.straights.forEach((column, k) => {
    fixed.set(column, option.straights[k]);
  });
  columns.fillers.forEach((filler, i) => {
    fixed.set(filler.used, i < option.fillers ? 1 : 0);
  });
  if (columns.changed !== null) fixed.set(columns.changed, remade ? 1 : 0);
}

/** The structure of a solution that is known. */
export function structureOf(posed: Posed, values: Float64Array): Structure {
  const fixed = new Map<Column, number>();
  for (const columns of posed.model.segments) {
    for (const column of [...columns.keep, ...columns.straights]) fixed.set(column, Math.round(values[column]));
    for (const filler of columns.fillers) fixed.set(filler.used, Math.round(values[filler.used]));
    if (columns.changed !== null) fixed.set(columns.changed, Math.round(values[columns.changed]));
  }
  return fixed;
}

/**
 * Chooses lengths and places for a structure: least unmet, then the tie-breakers. Rows are found with fillers of any
 * length, which is quick; whole steps come last.
 */
export async function solveStructure(posed: Posed, structure: Structure, clock: Clock): Promise<Solution | null> {
  const { program } = posed.model;
  const release = program.fixFor(structure);
  let best: Solution | null = null;
  let bestAim = Infinity;
  let whole = false;
  try {
    for (let round = 0; round < roundsAtMost; round++) {
      throwIfCancelled(clock.signal);
      if (best !== null && closes(posed, best) && performance.now() > clock.deadlineMs) break;
      const timeLimitMs = Math.max(whole ? 150 : 300, timeFor(clock, 1));
      const any = whole ? { start: best?.values } : { wholeOnly: new Set<Column>() };
      const answer = await program.least(posed.aim, { timeLimitMs, absoluteGap, ...any });
      if (answer.status !== 'optimal' && answer.status !== 'feasible') return best;
      if (posed.addBroken(answer.values) > 0) continue;
      const again = posed.regionRows.chooseAgain(answer.values) > 0;
      if (!whole) {
        whole = !again || bestAim - answer.objective < worthwhile;
        best = whole ? await rounded(posed, answer.values) : null;
        bestAim = !whole ? answer.objective : best === null ? Infinity : sumAt(posed.aim, best.values);
        continue;
      }
      const gain = bestAim - answer.objective;
      if (gain > 0) {
        best = solutionOf(posed, answer.values, []);
        bestAim = answer.objective;
      }
      if (gain < worthwhile || !again) break;
    }
    return best;
  } finally {
    release();
  }
}

function closes(posed: Posed, { values }: Solution): boolean {
  return posed.model.slacks.every((slack) => slack.kind !== 'closing' || values[slack.column] < metMm);
}

/** Every filler at a whole step next to its length: not always the best there is, but there at once. */
async function rounded(posed: Posed, values: Float64Array): Promise<Solution | null> {
  const { program } = posed.model;
  const release = program.fixFor(roundSteps(posed.model, values));
  try {
    const answer = await program.least(posed.aim, { timeLimitMs: 300, absoluteGap });
    const found = answer.status === 'optimal' || answer.status === 'feasible';
    return found && posed.addBroken(answer.values) === 0 ? solutionOf(posed, answer.values, []) : null;
  } finally {
    release();
  }
}

const roundsAtMost = 24;

/** Plans whose places differ by less than this, in millimetres of movement, are alike. */
const absoluteGap = 0.05;

/** Change of each segment in a solution, whole numbers or not. */
export function changeIn(posed: Posed, segment: Segment, values: Float64Array): number {
  return sumAt(posed.model.segments[segment.index].change, values);
}
