import { add, scale, type Vec } from './plane-vectors.js';

/** A leg of a run: so long in that direction. */
export interface Leg {
  /** Unit vector. */
  readonly along: Vec;
  readonly lengthMm: number;
}

/** What is left in x and y when legs are laid one after the other and should come back to where they began. */
export function misclosure(legs: readonly Leg[]): Vec {
  return legs.reduce<Vec>((sum, leg) => add(sum, scale(leg.along, leg.lengthMm)), [0, 0]);
}

/**
 * Angle that the joints of a closed run have to take up together: whole turns, less what the curves turn.
 * @param sweepRad sum of the curves' sweeps, left positive
 */
export function headingMisclosure(sweepRad: number): number {
  return 2 * Math.PI * Math.round(sweepRad / (2 * Math.PI)) - sweepRad;
}
