import type { Report } from '../contract/report.js';
import type { Estimate } from '../units/estimate.js';
import { nearestToSide, type SideRange } from './edge-clearance.js';
import { misclosure } from './misclosure.js';
import { dot, type Vec } from './plane-vectors.js';
import type { Case } from './question.js';
import { plannedMovement, type SegmentPlan, type SolutionPlan } from './read-solution.js';
import type { Side } from './table-shape.js';
import { type Movement, type TrackLine, trackLines } from './track-line.js';

/** How exactly a filler is cut and filed at the bench, standard uncertainty: practice, no source. */
const cutUMm = 0.3;

/** The planned centre lines. */
export function plannedLines(plan: SolutionPlan): TrackLine[] {
  return trackLines(plan.solution.model.layout, (chain, after) => plannedMovement(plan, chain, after));
}

/** Planned centre lines with one segment made longer by some millimetres. */
export function linesWithLonger(plan: SolutionPlan, segmentIndex: number, byMm: number): TrackLine[] {
  const { layout } = plan.solution.model;
  const movement: Movement = (chain, after) => {
    const base = plannedMovement(plan, chain, after);
    const own = layout.chains[chain].segments.slice(0, after).find((s) => s.index === segmentIndex);
    if (!own) return base;
    return [base[0] + own.stretch.along[0] * byMm, base[1] + own.stretch.along[1] * byMm];
  };
  return trackLines(layout, movement);
}

export interface SidePrediction {
  readonly side: Side;
  readonly run: string;
  readonly distance: Estimate;
  readonly at: Vec;
}

/** Smallest clearance of all runs to each side that faces any track. */
export function predictClearances(given: Case, plan: SolutionPlan, lines: readonly TrackLine[]): SidePrediction[] {
  return given.table.sides.flatMap((side) => {
    let best: SidePrediction | null = null;
    for (const [c, line] of lines.entries()) {
      const nearest = nearestToSide(line, side, given.table, given.faceMm);
      if (nearest === null || (best && nearest.distanceMm >= best.distance.value)) continue;
      const u = Math.hypot(measuredU(given.report, side.name, line.run), movementU(plan, c, side.inward));
      best = { side, run: line.run, distance: { value: nearest.distanceMm, u }, at: nearest.at };
    }
    return best === null ? [] : [best];
  });
}

/** Smallest clearance of all runs to a part of a side; null where nothing faces it. */
export function clearanceInRange(
  given: Case,
  lines: readonly TrackLine[],
  side: Side,
  range: SideRange,
): number | null {
  const all = lines.flatMap((line) => nearestToSide(line, side, given.table, given.faceMm, range) ?? []);
  return all.length === 0 ? null : Math.min(...all.map((n) => n.distanceMm));
}

/** Uncertainty that the measurement gives this run's clearance to this side. */
function measuredU(report: Report, side: string, run: string): number {
  const own = report.clearances.find((c) => c.side === side && c.run === run);
  if (own) return own.distance.u;
  const us = report.profile.filter((p) => p.side === side && p.run === run).map((p) => p.distance.u);
  return us.length > 0 ? Math.max(...us) : 0;
}

/** What the changed segments of a run add along a direction: measured gaps, pieces taken out, and the cutting. */
function movementU(plan: SolutionPlan, chain: number, along: Vec): number {
  const segments = plan.solution.model.layout.chains[chain].segments;
  const parts = segments.map((s) => segmentU(plan.segments[s.index]) * dot(s.stretch.along, along));
  return Math.hypot(...parts);
}

/** Standard uncertainty of a segment's change of length. */
export function segmentU(plan: SegmentPlan): number {
  if (!plan.remade) return 0;
  return Math.hypot(gapU(plan), ...plan.fillers.filter((f) => f.cut).map(() => cutUMm));
}

/** Standard uncertainty of the length that is to be filled: measured gaps, and pieces taken out. */
export function gapU({ segment, kept }: SegmentPlan): number {
  const removed = segment.pieces.filter((k) => !kept.includes(k));
  return Math.hypot(...segment.openGaps.map((g) => g.length.u), ...removed.map((k) => segment.stretch.lengths[k].u));
}

/** Closing uncertainty of a run: all its changed segments together. */
export function closingU(plan: SolutionPlan, chain: number): number {
  const segments = plan.solution.model.layout.chains[chain].segments;
  return Math.hypot(...segments.map((s) => segmentU(plan.segments[s.index])));
}

/** What is left over at the end of a run: exact, from the sections. */
export function closingOf(plan: SolutionPlan, chain: number): Vec {
  const { segments } = plan.solution.model.layout.chains[chain];
  return misclosure(segments.map((s) => ({ along: s.stretch.along, lengthMm: plan.segments[s.index].changeMm })));
}
