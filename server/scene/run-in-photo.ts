import type { Camera } from '../geometry/camera.js';
import type { Raster } from '../images/raster.js';
import type { CentreLine } from './rail-joint.js';
import type { TrackProfile } from './track-profile.js';

/** What a run is measured from: one photo, its camera, and the run's centre line as found in it. */
export interface RunInPhoto {
  readonly raster: Raster;
  readonly camera: Camera;
  readonly track: TrackProfile;
  readonly line: CentreLine;
  /** Places on the white paper of each marker sheet, table frame: track may lie on a sheet. */
  readonly papers?: readonly (readonly { readonly x: number; readonly y: number }[])[];
}
