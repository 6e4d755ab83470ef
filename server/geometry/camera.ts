import { type PhotoPoint, photoPoint, type TablePoint, tablePoint } from './frames.js';

/**
 * Pinhole with Brown–Conrady distortion, terms and order as in OpenCV's documentation (Conrady, MNRAS 79 (1919) 384;
 * Brown, Photogramm. Eng. 32 (1966) 444). Focal lengths and principal point in pixels.
 */
export interface Lens {
  readonly fx: number;
  readonly fy: number;
  readonly cx: number;
  readonly cy: number;
  readonly k1: number;
  readonly k2: number;
  readonly p1: number;
  readonly p2: number;
}

/** x_camera = rotation · x_table + translation; rotation row by row, translation in millimetres. */
export interface Pose {
  readonly rotation: readonly number[];
  readonly translation: readonly [number, number, number];
}

export interface Camera {
  readonly lens: Lens;
  readonly cameraFromTable: Pose;
}

/** Bends an undistorted direction (x/z, y/z) as the lens does. */
export function distort(lens: Lens, x: number, y: number): [number, number] {
  const r2 = x * x + y * y;
  const radial = 1 + r2 * (lens.k1 + r2 * lens.k2);
  return [
    x * radial + 2 * lens.p1 * x * y + lens.p2 * (r2 + 2 * x * x),
    y * radial + lens.p1 * (r2 + 2 * y * y) + 2 * lens.p2 * x * y,
  ];
}

/**
 * Undoes `distort` by Newton steps on the pair; exact to 1e-12 within the field where the radial polynomial rises.
 * @returns the undistorted direction (x/z, y/z)
 */
export function undistort(lens: Lens, xd: number, yd: number): [number, number] {
  let x = xd;
  let y = yd;
  for (let step = 0; step < 12; step++) {
    const [fx, fy] = distort(lens, x, y);
    const ex = fx - xd;
    const ey = fy - yd;
    if (ex * ex + ey * ey < 1e-26) break;
    const r2 = x * x + y * y;
    const radial = 1 + r2 * (lens.k1 + r2 * lens.k2);
    const slope = 2 * (lens.k1 + 2 * r2 * lens.k2);
    const a = radial + x * x * slope + 2 * lens.p1 * y + 6 * lens.p2 * x;
    const b = x * y * slope + 2 * lens.p1 * x + 2 * lens.p2 * y;
    const d = radial + y * y * slope + 6 * lens.p1 * y + 2 * lens.p2 * x;
    const determinant = a * d - b * b;
    x -= (d * ex - b * ey) / determinant;
    y -= (a * ey - b * ex) / determinant;
  }
  return [x, y];
}

/** Where a point at (x, y, z) millimetres in the table frame appears. Points behind the camera give NaN. */
export function photoFromTable(camera: Camera, x: number, y: number, z: number): PhotoPoint {
  const { rotation: r, translation: t } = camera.cameraFromTable;
  const zc = r[6] * x + r[7] * y + r[8] * z + t[2];
  if (zc <= 0) return photoPoint(Number.NaN, Number.NaN);
  const u = (r[0] * x + r[1] * y + r[2] * z + t[0]) / zc;
  const v = (r[3] * x + r[4] * y + r[5] * z + t[1]) / zc;
  // As `distort`, written out: a pair of numbers would be an object for each of a million points.
  const { fx, fy, cx, cy, k1, k2, p1, p2 } = camera.lens;
  const r2 = u * u + v * v;
  const radial = 1 + r2 * (k1 + r2 * k2);
  return photoPoint(
    fx * (u * radial + 2 * p1 * u * v + p2 * (r2 + 2 * u * u)) + cx,
    fy * (v * radial + p1 * (r2 + 2 * v * v) + 2 * p2 * u * v) + cy,
  );
}

/** Where the ray of a photo point meets the plane at heightMm above the table. */
export function tableFromPhotoAtHeight(camera: Camera, px: number, py: number, heightMm: number): TablePoint {
  const { lens } = camera;
  const [u, v] = undistort(lens, (px - lens.cx) / lens.fx, (py - lens.cy) / lens.fy);
  const { rotation: r, translation: t } = camera.cameraFromTable;
  // Plane z = h: column by column, the homography from the plane to the camera, inverted for the direction (u, v, 1).
  const a = r[0] - u * r[6];
  const b = r[1] - u * r[7];
  const c = -(r[2] * heightMm + t[0] - u * (r[8] * heightMm + t[2]));
  const d = r[3] - v * r[6];
  const e = r[4] - v * r[7];
  const f = -(r[5] * heightMm + t[1] - v * (r[8] * heightMm + t[2]));
  const determinant = a * e - b * d;
  return tablePoint((c * e - b * f) / determinant, (a * f - c * d) / determinant);
}

/** The camera's place in the table frame, millimetres. */
export function cameraCentreInTable(pose: Pose): [number, number, number] {
  const { rotation: r, translation: t } = pose;
  return [
    -(r[0] * t[0] + r[3] * t[1] + r[6] * t[2]),
    -(r[1] * t[0] + r[4] * t[1] + r[7] * t[2]),
    -(r[2] * t[0] + r[5] * t[1] + r[8] * t[2]),
  ];
}

/** Picture diagonal over the diagonal of 24 × 36 mm film: 35 mm equivalence as EXIF (CIPA DC-008) defines it. */
export function focalPxFrom35mm(focalLength35mm: number, widthPx: number, heightPx: number): number {
  return (focalLength35mm * Math.hypot(widthPx, heightPx)) / Math.hypot(24, 36);
}
