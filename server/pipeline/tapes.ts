import type { TapeCheck } from '../contract/tables.js';
import type { AdjustmentState, TapeObservation } from '../stages/camera/adjustment.js';

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
