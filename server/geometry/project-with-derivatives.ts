import type { Camera } from './camera.js';

/** A projection with its derivatives; the arrays are reused from call to call. */
export interface ProjectionWithDerivatives {
  u: number;
  v: number;
  /** 2 × 3, row by row, with respect to the point in the table frame, px per mm. */
  byPoint: Float64Array;
  /** 2 × 6, row by row: rotation vector applied before the pose (camera = exp(w) R x + t), then translation. */
  byPose: Float64Array;
  /** 2 × 7, row by row: common focal length, k1, k2, cx, cy, p1, p2. */
  byLens: Float64Array;
}

export function emptyProjection(): ProjectionWithDerivatives {
  return {
    u: 0,
    v: 0,
    byPoint: new Float64Array(6),
    byPose: new Float64Array(12),
    byLens: new Float64Array(14),
  };
}

/**
 * Projects (x, y, z) millimetres of the table frame with fx = fy, and derives by hand; checked against central
 * differences in the tests.
 */
export function projectWithDerivatives(
  camera: Camera,
  x: number,
  y: number,
  z: number,
  out: ProjectionWithDerivatives,
): void {
  const { lens } = camera;
  const { rotation: r, translation: t } = camera.cameraFromTable;
  const rx = r[0] * x + r[1] * y + r[2] * z;
  const ry = r[3] * x + r[4] * y + r[5] * z;
  const rz = r[6] * x + r[7] * y + r[8] * z;
  const xc = rx + t[0];
  const yc = ry + t[1];
  const zc = rz + t[2];
  const a = xc / zc;
  const b = yc / zc;
  const r2 = a * a + b * b;
  const radial = 1 + r2 * (lens.k1 + r2 * lens.k2);
  const slope = 2 * (lens.k1 + 2 * r2 * lens.k2);
  const du = a * radial + 2 * lens.p1 * a * b + lens.p2 * (r2 + 2 * a * a);
  const dv = b * radial + lens.p1 * (r2 + 2 * b * b) + 2 * lens.p2 * a * b;
  out.u = lens.fx * du + lens.cx;
  out.v = lens.fy * dv + lens.cy;
  const uA = lens.fx * (radial + a * a * slope + 2 * lens.p1 * b + 6 * lens.p2 * a);
  const uB = lens.fx * (a * b * slope + 2 * lens.p1 * a + 2 * lens.p2 * b);
  const vA = lens.fy * (a * b * slope + 2 * lens.p1 * a + 2 * lens.p2 * b);
  const vB = lens.fy * (radial + b * b * slope + 6 * lens.p1 * b + 2 * lens.p2 * a);
  const inverse = 1 / zc;
  // By the point in the camera frame.
  const u0 = uA * inverse;
  const u1 = uB * inverse;
  const u2 = -(uA * a + uB * b) * inverse;
  const v0 = vA * inverse;
  const v1 = vB * inverse;
  const v2 = -(vA * a + vB * b) * inverse;
  for (let j = 0; j < 3; j++) {
    out.byPoint[j] = u0 * r[j] + u1 * r[3 + j] + u2 * r[6 + j];
    out.byPoint[3 + j] = v0 * r[j] + v1 * r[3 + j] + v2 * r[6 + j];
  }
  out.byPose[0] = -u1 * rz + u2 * ry;
  out.byPose[1] = u0 * rz - u2 * rx;
  out.byPose[2] = -u0 * ry + u1 * rx;
  out.byPose[3] = u0;
  out.byPose[4] = u1;
  out.byPose[5] = u2;
  out.byPose[6] = -v1 * rz + v2 * ry;
  out.byPose[7] = v0 * rz - v2 * rx;
  out.byPose[8] = -v0 * ry + v1 * rx;
  out.byPose[9] = v0;
  out.byPose[10] = v1;
  out.byPose[11] = v2;
  out.byLens[0] = du;
  out.byLens[1] = lens.fx * a * r2;
  out.byLens[2] = lens.fx * a * r2 * r2;
  out.byLens[3] = 1;
  out.byLens[4] = 0;
  out.byLens[5] = lens.fx * 2 * a * b;
  out.byLens[6] = lens.fx * (r2 + 2 * a * a);
  out.byLens[7] = dv;
  out.byLens[8] = lens.fy * b * r2;
  out.byLens[9] = lens.fy * b * r2 * r2;
  out.byLens[10] = 0;
  out.byLens[11] = 1;
  out.byLens[12] = lens.fy * (r2 + 2 * b * b);
  out.byLens[13] = lens.fy * 2 * a * b;
}

/**
 * Where (x, y, z) millimetres of the table frame appears, and how it moves when the point does so level along (dx, dy):
 * the few numbers that inner loops want first.
 * @param out takes u, v, du, dv; pixels, and pixels for each millimetre where (dx, dy) has length 1
 */
export function projectLevelStep(
  { lens, cameraFromTable: { rotation: r, translation: t } }: Camera,
  x: number,
  y: number,
  z: number,
  dx: number,
  dy: number,
  out: Float64Array,
): void {
  const inverse = 1 / (r[6] * x + r[7] * y + r[8] * z + t[2]);
  const a = (r[0] * x + r[1] * y + r[2] * z + t[0]) * inverse;
  const b = (r[3] * x + r[4] * y + r[5] * z + t[1]) * inverse;
  const back = r[6] * dx + r[7] * dy;
  const da = (r[0] * dx + r[1] * dy - a * back) * inverse;
  const db = (r[3] * dx + r[4] * dy - b * back) * inverse;
  const r2 = a * a + b * b;
  const dr2 = 2 * (a * da + b * db);
  const radial = 1 + r2 * (lens.k1 + r2 * lens.k2);
  const dRadial = (lens.k1 + 2 * r2 * lens.k2) * dr2;
  const ab = 2 * a * b;
  const dab = 2 * (a * db + b * da);
  out[0] = lens.fx * (a * radial + lens.p1 * ab + lens.p2 * (r2 + 2 * a * a)) + lens.cx;
  out[1] = lens.fy * (b * radial + lens.p1 * (r2 + 2 * b * b) + lens.p2 * ab) + lens.cy;
  out[2] = lens.fx * (da * radial + a * dRadial + lens.p1 * dab + lens.p2 * (dr2 + 4 * a * da));
  out[3] = lens.fy * (db * radial + b * dRadial + lens.p1 * (dr2 + 4 * b * db) + lens.p2 * dab);
}
