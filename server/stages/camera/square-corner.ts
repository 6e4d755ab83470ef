import type { ResidualSink } from '../../linalg/least-squares.js';
import type { Arc } from '../../scene/track-observation.js';

/** Two table sides that follow each other round a corner of which the user says that it is square. */
export interface SquareCorner {
  /** Arcs of the two sides, in the order round the table. */
  readonly before: number;
  readonly after: number;
  /** From the heading of the one to that of the other: an odd multiple of a right angle, rad. */
  readonly turnRad: number;
}

/**
 * How far from square a corner may be that a person calls square, standard uncertainty, rad: 2 mm to the metre, as for
 * the corners of sawn boards (EN 312, EN 622-1, from memory), taken as a limit.
 */
export const squareCornerURad = 2e-3 / Math.sqrt(3);

/**
 * Sinks (turn − right angle)/u of one corner.
 * @param places where each arc's (x, y, heading) stands among the parameters
 */
export function squareCornerResidual(
  { before, after, turnRad }: SquareCorner,
  arcs: readonly Arc[],
  places: readonly number[],
  sink: ResidualSink,
): void {
  const weight = 1 / squareCornerURad;
  const off = arcs[after].headingRad - arcs[before].headingRad - turnRad;
  sink(off * weight, [places[before] + 2, places[after] + 2], [-weight, weight], 2);
}
