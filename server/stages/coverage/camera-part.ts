import type { Camera } from '../../geometry/camera.js';
import {
  emptyProjection,
  type ProjectionWithDerivatives,
  projectWithDerivatives,
} from '../../geometry/project-with-derivatives.js';

/** A view of which the information is wanted: its camera, its picture, and where lens and pose stand among the unknowns. */
export interface View {
  readonly camera: Camera;
  readonly sizePx: readonly [number, number];
  readonly lensAt: number;
  readonly poseAt: number;
}

/** Room at the rim of a picture, where nothing is measured, pixels. */
const rimPx = 12;

export function isInPicture([width, height]: readonly [number, number], u: number, v: number): boolean {
  return u >= rimPx && v >= rimPx && u <= width - 1 - rimPx && v <= height - 1 - rimPx;
}

/** Whether a point of the table lies in front of the camera and well inside the field that its lens model is good for. */
export function isBefore({ lens, cameraFromTable }: Camera, x: number, y: number, z: number): boolean {
  const { rotation: r, translation: t } = cameraFromTable;
  const depth = r[6] * x + r[7] * y + r[8] * z + t[2];
  if (depth <= 0) return false;
  const a = (r[0] * x + r[1] * y + r[2] * z + t[0]) / depth;
  const b = (r[3] * x + r[4] * y + r[5] * z + t[1]) / depth;
  return Math.abs(a) * lens.fx < 2 * lens.cx && Math.abs(b) * lens.fy < 2 * lens.cy;
}

/** Rows of derivatives in one view: one buffer, filled by `project` and `camera`, then by whoever owns the row. */
export class RowWriter {
  readonly index = new Int32Array(32);
  readonly derivative = new Float64Array(32);
  readonly q: ProjectionWithDerivatives = emptyProjection();

  constructor(private readonly view: View) {}

  /** Projects a point; false where the picture does not show it. */
  project(x: number, y: number, z: number): boolean {
    if (!isBefore(this.view.camera, x, y, z)) return false;
    projectWithDerivatives(this.view.camera, x, y, z, this.q);
    return isInPicture(this.view.sizePx, this.q.u, this.q.v);
  }

  /** Puts the derivatives of scale · (nx u + ny v) by lens and pose in front; returns how many, and those by the point. */
  camera(nx: number, ny: number, scale: number): { entries: number; by: readonly [number, number, number] } {
    const { index, derivative, q, view } = this;
    for (let k = 0; k < 7; k++) {
      index[k] = view.lensAt + k;
      derivative[k] = scale * (nx * q.byLens[k] + ny * q.byLens[7 + k]);
    }
    for (let k = 0; k < 6; k++) {
      index[7 + k] = view.poseAt + k;
      derivative[7 + k] = scale * (nx * q.byPose[k] + ny * q.byPose[6 + k]);
    }
    const { byPoint: p } = q;
    return {
      entries: 13,
      by: [scale * (nx * p[0] + ny * p[3]), scale * (nx * p[1] + ny * p[4]), scale * (nx * p[2] + ny * p[5])],
    };
  }
}
