import type { SideCheck, TapeCheck } from '../contract/tables.js';
import type { MeasuredSide } from '../scene/measured-layout.js';
import type { AdjustmentState, TapeObservation } from '../stages/camera/adjustment.js';
import type { SideTapeObservation } from '../stages/camera/side-length.js';

/** Limit of a class II tape for a length, with 0.2 mm for its hook (Directive 2014/32/EU, Annex X), as standard uncertainty. */
export function tapeUMm(lengthMm: number): number {
  return (0.3 + 0.2 * Math.ceil(lengthMm / 1000) + 0.2) / Math.sqrt(3);
}

/** Tape checks between markers that were seen; others say nothing. */
export function tapesOf(checks: readonly TapeCheck[], state: AdjustmentState): TapeObservation[] {
  return checks.flatMap((check) => {
    const from = state.markers.findIndex((m) => m.id === check.from);
    const to = state.markers.findIndex((m) => m.id === check.to);
    if (from < 0 || to < 0) return [];
    return [{ from, to, lengthMm: check.lengthMm, uMm: check.uMm ?? tapeUMm(check.lengthMm) }];
  });
}

/** Tape checks of table sides of which both corners were seen; arcs are counted from the first side's. */
export function sideTapesOf(
  checks: readonly SideCheck[],
  sides: readonly MeasuredSide[],
  firstSide: number,
): SideTapeObservation[] {
  return checks.flatMap(({ side, lengthMm, uMm }) => {
    const i = sides.findIndex((s) => s.name === side && s.fromCorner && s.toCorner);
    if (i < 0) return [];
    const at = (k: number): number => sides[(k + sides.length) % sides.length].arcIndex - firstSide;
    return [{ side: at(i), before: at(i - 1), after: at(i + 1), lengthMm, uMm: uMm ?? tapeUMm(lengthMm) }];
  });
}

/** The tape checks that could not be used, as they were typed. */
export function tapesLeftOut(
  tapes: readonly TapeCheck[],
  sideChecks: readonly SideCheck[],
  state: AdjustmentState,
  sides: readonly MeasuredSide[],
): string[] {
  const lone = (check: TapeCheck): boolean => tapesOf([check], state).length === 0;
  const open = (check: SideCheck): boolean => sideTapesOf([check], sides, 0).length === 0;
  return [...tapes.filter(lone).map((c) => `${c.from}-${c.to}`), ...sideChecks.filter(open).map((c) => c.side)];
}
