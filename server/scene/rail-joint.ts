import type { Estimate } from '../units/estimate.js';

/** A centre line in the table frame at the height of the rail axes; places lie stepMm apart along it. */
export interface CentreLine {
  readonly stepMm: number;
  readonly closed: boolean;
  readonly places: readonly { readonly x: number; readonly y: number; readonly headingRad: number }[];
  /** First and last place along an open one at which rails were followed; beyond them it is a guess. */
  readonly followed?: { readonly fromS: number; readonly toS: number };
}

/** A joint seen on one run in one photo; s counts along the run's centre line from its first place. */
export interface RailJoint {
  readonly s: number;
  readonly open: boolean;
  readonly gapMm: Estimate;
  /** Gaps of the right, centre and left rail; null where not seen. */
  readonly railsMm: readonly [Estimate | null, Estimate | null, Estimate | null];
  /** What each photo says of it, where several show it and the joint is their mean. */
  readonly readings?: readonly JointReading[];
}

/** A joint as one photo shows it; its place in the table frame. */
export interface JointReading {
  readonly gapMm: Estimate;
  readonly railsMm: RailJoint['railsMm'];
  readonly place: { readonly x: number; readonly y: number };
}

/** A part of a run in which rails cannot be seen. */
export interface HiddenSpan {
  readonly fromS: number;
  readonly toS: number;
}
