import type { Camera } from '../geometry/camera.js';
import type { MeasuredRun, MeasuredSide } from './measured-layout.js';
import type { PlacedMarker } from './placed-marker.js';
import type { TrackProfile } from './track-profile.js';

/** Where each unknown that photos have in common stands in the covariance of a `SolvedTable`. */
export interface SharedLayout {
  /** Common focal length, k1, k2, cx, cy, p1, p2 of each lens. */
  readonly lens: readonly number[];
  /** Rotation vector applied before the pose, then translation, of each photo. */
  readonly pose: readonly number[];
  /** x, y and heading of each table side. */
  readonly side: readonly number[];
  readonly printScale: number;
  readonly gaugeScale: number;
  readonly railTop: number;
  /** x, y and turn of each marker: after all others, so that they are easily left out. */
  readonly marker: readonly number[];
  readonly count: number;
}

/** How well things are seen in the photos at hand, which is what to expect of one more. */
export interface SeenQuality {
  /** Of a marker's corner, pixels. */
  readonly cornerSigmaPx: number;
  /** Of one point of a table edge as its scatter counts for the covariance, pixels, and how far apart such points lie on the table. */
  readonly edgeSigmaPx: number;
  readonly edgeStepMm: number;
  /** The same of one place on a rail, across it, and how far apart they lie. */
  readonly railSigmaMm: number;
  readonly railStepMm: number;
  /** Scatter of the rails about the solved track in each photo, pixels: pixel size, blur and noise together. */
  readonly readingPx: readonly number[];
}

/** What the adjustment knows of cameras, markers and table sides, and how surely, whatever track lies there. Table frame. */
export interface SolvedTable {
  readonly cameras: readonly Camera[];
  readonly lensOfPhoto: readonly number[];
  readonly photoNames: readonly string[];
  readonly photoSizesPx: readonly (readonly [number, number])[];
  /** The photo whose readings count where it shows a place. */
  readonly primary: number;
  readonly markers: readonly PlacedMarker[];
  /** Side of the black square as it came out of the printer. */
  readonly markerSideMm: number;
  readonly sides: readonly MeasuredSide[];
  readonly runs: readonly MeasuredRun[];
  readonly track: TrackProfile;
  readonly railTopOffMm: number;
  readonly quality: SeenQuality;
  readonly layout: SharedLayout;
  /** Covariance of the unknowns in the order of `layout`, count × count row by row. */
  readonly covariance: Float64Array;
}
