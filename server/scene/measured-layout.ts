import type { Camera } from '../geometry/camera.js';
import type { HiddenSpan, RailJoint } from './rail-joint.js';
import type { Arc } from './track-observation.js';
import type { TrackProfile } from './track-profile.js';

/** A piece of a run as an arc of the adjustment. */
export interface MeasuredPiece {
  readonly arc: Arc;
  /** Its place in the adjustment, for covariances. */
  readonly arcIndex: number;
  readonly straight: boolean;
  readonly seen: boolean;
  /** Its ends along its arc. */
  readonly fromS: number;
  readonly toS: number;
  /** Standard uncertainty of its ends along the track; missing where a joint or a neighbour holds them. */
  readonly alongUMm?: number;
}

export interface MeasuredRun {
  readonly id: string;
  readonly closed: boolean;
  readonly photo: number;
  readonly pieces: readonly MeasuredPiece[];
  readonly joints: readonly RailJoint[];
  /** Middle of each joint on the centre line, table frame. */
  readonly jointPlaces: readonly { readonly x: number; readonly y: number }[];
  readonly hidden: readonly HiddenSpan[];
}

/** A table side as a straight of the adjustment, table on its left. */
export interface MeasuredSide {
  readonly name: string;
  readonly arc: Arc;
  readonly arcIndex: number;
  /** Ends along the arc: a corner where the next side was seen, else as far as the side was seen. */
  readonly fromS: number;
  readonly toS: number;
  readonly fromCorner: boolean;
  readonly toCorner: boolean;
}

/** Everything that lengths are taken from, in one table frame. */
export interface MeasuredLayout {
  readonly cameras: readonly Camera[];
  readonly photoNames: readonly string[];
  readonly photoSizesPx: readonly (readonly [number, number])[];
  readonly track: TrackProfile;
  readonly railTopOffMm: number;
  readonly runs: readonly MeasuredRun[];
  readonly sides: readonly MeasuredSide[];
  /** Covariance of (x, y, heading) of two arcs, 3 × 3 row by row; null when the adjustment has none. */
  arcCovariance(a: number, b: number): readonly number[] | null;
}
