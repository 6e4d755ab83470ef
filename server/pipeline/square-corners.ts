import type { MeasuredSide } from '../scene/measured-layout.js';
import type { AdjustmentState } from '../stages/camera/adjustment-state.js';
import { type SquareCorner, squareCornerURad } from '../stages/camera/square-corner.js';
import type { SideArc, TableAdjustment } from './adjust-table.js';
import { arcCovarianceOf } from './covariances.js';
import { measuredSides } from './layout-parts.js';

/** A corner that measures farther from square than by this many standard uncertainties is not square: once in 370. */
const squareWithin = 3;
/** Of a corner's angle where the adjustment has no covariance, rad: a guess, half a degree at 95 %. */
const unknownAngleURad = 4.5e-3;

/** A corner between two sides that follow each other, as measured while no corner was held square. */
export interface JudgedCorner {
  /** Names of its two sides, in order. */
  readonly sides: readonly [string, string];
  /** Arcs of the two sides in the adjustment. */
  readonly before: number;
  readonly after: number;
  /** The right angle nearest to what was measured, from heading to heading, rad. */
  readonly turnRad: number;
  /** What the angle is off it, and its standard uncertainty, rad. */
  readonly offRad: number;
  readonly uRad: number;
  /** Whether it may be square, after all that is known. */
  readonly square: boolean;
}

/**
 * Looks at the corners of an outline: which may be square. Sides that meet at no corner that was seen are passed over.
 * @param covarianceOf of (x, y, heading) of two arcs, 3 × 3 row by row; null where it is not known
 */
export function judgeCorners(
  sides: readonly MeasuredSide[],
  covarianceOf: (a: number, b: number) => readonly number[] | null,
): JudgedCorner[] {
  return sides.flatMap((side, i) => {
    const next = sides[(i + 1) % sides.length];
    if (!side.toCorner || !next.fromCorner) return [];
    const turned = next.arc.headingRad - side.arc.headingRad;
    const turnRad = (Math.round(turned / Math.PI - 0.5) + 0.5) * Math.PI;
    const offRad = turned - turnRad;
    const uRad = angleURad(side.arcIndex, next.arcIndex, covarianceOf);
    const square = Math.abs(offRad) <= squareWithin * Math.hypot(uRad, squareCornerURad);
    const names = [side.name, next.name] as const;
    return [{ sides: names, before: side.arcIndex, after: next.arcIndex, turnRad, offRad, uRad, square }];
  });
}

/** Standard uncertainty of the angle between two arcs (JCGM 100:2008, 5.2.2), rad. */
function angleURad(a: number, b: number, covarianceOf: (a: number, b: number) => readonly number[] | null): number {
  const [own, other, shared] = [covarianceOf(a, a), covarianceOf(b, b), covarianceOf(a, b)];
  if (!own || !other || !shared) return unknownAngleURad;
  const heading = 8;
  return Math.sqrt(Math.max(0, own[heading] + other[heading] - 2 * shared[heading]));
}

/** An adjustment, and what it told of the corners; no corners where nobody asked. */
export interface CorneredAdjustment extends TableAdjustment {
  readonly corners: readonly JudgedCorner[];
}

/**
 * Adjusts a table. Where the user says that its corners are square: first without, then with those corners held that may
 * be square by what was measured. A corner that cannot be is left as it measures.
 * @param adjustWith adjusts from a state with corners held square; their arcs are counted from the first side's
 */
export function adjustWithCorners(
  areSquare: boolean,
  state: AdjustmentState,
  sides: readonly SideArc[],
  adjustWith: (from: AdjustmentState, corners: readonly SquareCorner[]) => TableAdjustment,
): CorneredAdjustment {
  const free = adjustWith(state, []);
  if (!areSquare || sides.length < 2) return { ...free, corners: [] };
  const { output, firstSide } = free;
  const corners = judgeCorners(
    measuredSides(sides, output.state.arcs, firstSide, output.state),
    arcCovarianceOf(output),
  );
  const held = corners
    .filter((c) => c.square)
    .map(({ before, after, turnRad }) => ({ before: before - firstSide, after: after - firstSide, turnRad }));
  return { ...(held.length === 0 ? free : adjustWith(output.state, held)), corners };
}
