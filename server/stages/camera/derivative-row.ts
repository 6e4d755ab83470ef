import { emptyProjection } from '../../geometry/project-with-derivatives.js';
import type { ParameterLayout } from './adjustment-state.js';

/** One residual's derivatives: a buffer that is filled again for each, and the projection that they come from. */
export class DerivativeRow {
  readonly projection = emptyProjection();
  readonly index = new Int32Array(32);
  readonly derivative = new Float64Array(32);

  constructor(
    private readonly layout: ParameterLayout,
    private readonly lensOfPhoto: readonly number[],
  ) {}

  /** Puts the derivatives of nx·u + ny·v of the projection by a photo's lens and pose in front; returns how many. */
  camera(photo: number, nx: number, ny: number): number {
    const { index, derivative } = this;
    const { byLens, byPose } = this.projection;
    const lensAt = this.layout.lens[this.lensOfPhoto[photo]];
    const poseAt = this.layout.pose[photo];
    for (let k = 0; k < 7; k++) {
      index[k] = lensAt + k;
      derivative[k] = nx * byLens[k] + ny * byLens[7 + k];
    }
    for (let k = 0; k < 6; k++) {
      index[7 + k] = poseAt + k;
      derivative[7 + k] = nx * byPose[k] + ny * byPose[6 + k];
    }
    return 13;
  }
}
