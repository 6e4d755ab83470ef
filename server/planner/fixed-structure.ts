import { throwIfCancelled } from '../base/cancel.js';
import type { FillerModel } from './filler-model.js';
import { sumAt } from './filler-model.js';
import { bestHeldOption, type HeldOption } from './held-options.js';
import type { Segment } from './layout-parts.js';
import { type Column, sumOf, times } from './linear-program.js';
import { type Clock, type Posed, type Solution, solutionOf } from './question.js';

/** A millimetre of a wish outweighs any tie-breaker. */
const unmetWeight = 1000;

/** Which sections make up each segment; lengths of fillers and places of runs are still open. */
export type Structure = ReadonlyMap<Column, number>;

/**
 * Each segment's own best composition for a wished change of its length.
 * @param changeMm wished change and what it may be off by; null = left as it lies
 * @returns null where a segment cannot be made so, or more straights would be used than there are
 */
export function snapStructure(
  posed: Posed,
  changeMm: (segment: Segment) => { readonly aimMm: number; readonly withinMm: number } | null,
): Structure | null {
  const { model, question } = posed;
  const fixed = new Map<Column, number>();
  const used = model.kinds.map(() => 0);
  for (const segment of model.layout.segments) {
    if (!model.options.mayChange(segment)) continue;
    const aim = changeMm(segment);
    const option =
      aim === null
        ? asItLies(model, segment)
        : bestHeldOption(model, segment, { ...aim, sectionsFirst: question.prefer === 'least-change' });
    if (option === null) return null;
    option.straights.forEach((n, k) => {
      used[k] += n;
    });
    fixSegment(model, segment, option, aim !== null, fixed);
  }
  return used.some((n, k) => n > model.kinds[k].count) ? null : fixed;
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

/** The structure of a solution that is known, with the sides of regions that it lies on. */
export function structureOf(posed: Posed, values: Float64Array): Structure {
  const fixed = new Map<Column, number>();
  for (const columns of posed.model.segments) {
    for (const column of [...columns.keep, ...columns.straights]) fixed.set(column, Math.round(values[column]));
    for (const filler of columns.fillers) fixed.set(filler.used, Math.round(values[filler.used]));
    if (columns.changed !== null) fixed.set(columns.changed, Math.round(values[columns.changed]));
  }
  for (const choice of posed.regionRows.choices())
    if (choice < values.length) fixed.set(choice, Math.round(values[choice]));
  return fixed;
}

/** Chooses lengths and places for a structure: least unmet, then the tie-breakers. Small and quick. */
export async function solveStructure(posed: Posed, structure: Structure, clock: Clock): Promise<Solution | null> {
  const { program } = posed.model;
  const release = program.fixFor(structure);
  const sum = sumOf(posed.tieBreak, times(unmetWeight, posed.unmet));
  try {
    for (let round = 0; round < 12; round++) {
      throwIfCancelled(clock.signal);
      const timeLimitMs = Math.max(100, clock.deadlineMs - performance.now());
      const answer = await program.least(sum, { timeLimitMs, absoluteGap: 0.01 });
      if (answer.status !== 'optimal' && answer.status !== 'feasible') return null;
      if (posed.addBroken(answer.values) === 0) return solutionOf(posed, answer.values, []);
    }
    return null;
  } finally {
    release();
  }
}

/** Change of each segment in a solution, whole numbers or not. */
export function changeIn(posed: Posed, segment: Segment, values: Float64Array): number {
  return sumAt(posed.model.segments[segment.index].change, values);
}
