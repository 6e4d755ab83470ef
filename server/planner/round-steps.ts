import type { FillerModel } from './filler-model.js';
import { type Column, sumAt } from './linear-program.js';
import { add, lengthOf, scale, type Vec } from './plane-vectors.js';

interface Length {
  readonly column: Column;
  readonly steps: number;
  /** How far one step more moves what follows. */
  readonly move: Vec;
}

/** More fillers than this in one run are rounded each for itself. */
const togetherAtMost = 10;

/**
 * Whole steps for fillers that may be of any length in a solution, each up or down, so that every run still closes: of
 * those that close, the ones nearest to the lengths given; else the ones that close best.
 */
export function roundSteps(model: FillerModel, values: Float64Array): ReadonlyMap<Column, number> {
  const { stepMm, closingMm } = model.options.wishes;
  const rounded = new Map<Column, number>();
  model.layout.chains.forEach((chain, c) => {
    const lengths = chain.segments.flatMap((segment) =>
      model.segments[segment.index].fillers
        .filter((f) => values[f.used] > 0.5)
        .map((f): Length => ({ column: f.steps, steps: values[f.steps], move: scale(segment.stretch.along, stepMm) })),
    );
    const left: Vec = [sumAt(model.closing[c][0], values), sumAt(model.closing[c][1], values)];
    for (const [i, steps] of bestSteps(lengths, left, closingMm).entries()) rounded.set(lengths[i].column, steps);
  });
  for (const segment of model.segments)
    for (const f of segment.fillers) if (values[f.used] <= 0.5) rounded.set(f.steps, 0);
  return rounded;
}

function bestSteps(lengths: readonly Length[], left: Vec, closingMm: number): number[] {
  const nearest = lengths.map((l) => Math.round(l.steps));
  if (lengths.length > togetherAtMost) return nearest;
  let best = nearest;
  let bestScore = Infinity;
  for (let choice = 0; choice < 1 << lengths.length; choice++) {
    const steps = lengths.map((l, i) => (choice & (1 << i) ? otherWay(l.steps) : nearest[i]));
    const miss = lengths.reduce<Vec>((sum, l, i) => add(sum, scale(l.move, steps[i] - l.steps)), left);
    const offSteps = lengths.reduce((sum, l, i) => sum + Math.abs(steps[i] - l.steps), 0);
    // A regular polygon inside the circle is what the program takes for closed.
    const overMm = Math.max(0, lengthOf(miss) - closingMm * 0.98);
    const score = overMm * 1e4 + offSteps;
    if (score < bestScore) {
      bestScore = score;
      best = steps;
    }
  }
  return best;
}

/** The whole number next to a length on its farther side. */
function otherWay(steps: number): number {
  const nearest = Math.round(steps);
  return steps >= nearest ? nearest + 1 : nearest - 1;
}
