import type { SideCheck, TapeCheck } from '../contract/tables.js';
import type { MeasuredSide } from '../scene/measured-layout.js';
import type { AdjustmentOutput, TapeObservation } from '../stages/camera/adjustment.js';
import type { AdjustmentState } from '../stages/camera/adjustment-state.js';
import type { SideTapeObservation } from '../stages/camera/side-length.js';
import { arcCovarianceOf } from './covariances.js';
import { sideLengthU } from './side-lengths.js';

/** Tape and photos that differ by more standard uncertainties than this do not speak of the same length. */
const contradictedFrom = 5;

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

/** A tape check that the photos contradict. */
export interface DoubtedTape {
  /** As it is typed: `3-7`, or the name of a side. */
  readonly name: string;
  readonly lengthMm: number;
  readonly photosMm: number;
}

export interface JudgedTapes {
  /** The checks that the adjustment may take in. */
  readonly between: readonly TapeCheck[];
  readonly ofSides: readonly SideCheck[];
  readonly doubted: readonly DoubtedTape[];
}

export const noTapes: JudgedTapes = { between: [], ofSides: [], doubted: [] };

/**
 * Sets aside what cannot be: a wrong number, another side, a marker that was printed larger. Even damped by the robust
 * loss such a tape would pull a side centimetres away.
 * @param free the adjustment of everything but the tapes
 * @param sides as measured by it
 */
export function judgeTapes(
  between: readonly TapeCheck[],
  ofSides: readonly SideCheck[],
  free: AdjustmentOutput,
  sides: readonly MeasuredSide[],
): JudgedTapes {
  const doubted: DoubtedTape[] = [];
  const mayBe = (name: string, check: TapeCheck | SideCheck, photosMm: number, photosU: number): boolean => {
    const { lengthMm } = check;
    const u = Math.hypot(photosU, check.uMm ?? tapeUMm(lengthMm));
    if (Math.abs(photosMm - lengthMm) <= contradictedFrom * u) return true;
    doubted.push({ name, lengthMm, photosMm });
    return false;
  };
  const covarianceOf = arcCovarianceOf(free);
  return {
    between: between.filter((check) => {
      const [tape] = tapesOf([check], free.state);
      if (!tape) return true;
      const { mm, uMm } = betweenMarkers(free, tape);
      return mayBe(`${check.from}-${check.to}`, check, mm, uMm);
    }),
    ofSides: ofSides.filter((check) => {
      const i = sides.findIndex((s) => s.name === check.side && s.fromCorner && s.toCorner);
      if (i < 0) return true;
      return mayBe(check.side, check, sides[i].toS - sides[i].fromS, sideLengthU(sides, i, covarianceOf));
    }),
    doubted,
  };
}

/** Distance between the middles of two markers, propagated from their joint covariance; a guess of 5 mm without one. */
function betweenMarkers(
  { state, layout, covariance }: AdjustmentOutput,
  { from, to }: Pick<TapeObservation, 'from' | 'to'>,
): { mm: number; uMm: number } {
  const [a, b] = [state.markers[from], state.markers[to]];
  const mm = Math.hypot(b.x - a.x, b.y - a.y);
  if (!covariance) return { mm, uMm: 5 };
  const [cx, cy] = [(b.x - a.x) / mm, (b.y - a.y) / mm];
  const index = [layout.marker[from], layout.marker[from] + 1, layout.marker[to], layout.marker[to] + 1];
  const slope = [-cx, -cy, cx, cy];
  let variance = 0;
  for (let i = 0; i < 4; i++)
    for (let j = 0; j < 4; j++) variance += slope[i] * slope[j] * covariance[index[i] * layout.count + index[j]];
  return { mm, uMm: Math.sqrt(Math.max(0, variance)) };
}
