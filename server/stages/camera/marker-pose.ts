import type { Lens, Pose } from '../../geometry/camera.js';
import { undistort } from '../../geometry/camera.js';
import { orthonormalised } from '../../geometry/rotation.js';

/**
 * Pose of the camera before one square marker, from its four corners: the homography of the square, split into two
 * columns of a rotation and a translation (Zhang, IEEE TPAMI 22 (2000) 1330, section 3.1). Good enough to start from.
 * @param cornersPx upper left, upper right, lower right, lower left as printed
 * @returns the pose in the marker's own frame: middle at the origin, x to the right, y up the print, z towards the camera;
 *   null when the corners are degenerate
 */
export function poseFromMarker(
  lens: Lens,
  cornersPx: readonly (readonly [number, number])[],
  sideMm: number,
): Pose | null {
  const h = sideMm / 2;
  const table = [
    [-h, h],
    [h, h],
    [h, -h],
    [-h, -h],
  ];
  const rows: number[][] = [];
  const right: number[] = [];
  for (let k = 0; k < 4; k++) {
    const [x, y] = table[k];
    const [u, v] = undistort(lens, (cornersPx[k][0] - lens.cx) / lens.fx, (cornersPx[k][1] - lens.cy) / lens.fy);
    rows.push([x, y, 1, 0, 0, 0, -u * x, -u * y]);
    right.push(u);
    rows.push([0, 0, 0, x, y, 1, -v * x, -v * y]);
    right.push(v);
  }
  const m = solveDense(rows, right);
  if (!m) return null;
  const scale = 2 / (Math.hypot(m[0], m[3], m[6]) + Math.hypot(m[1], m[4], m[7]));
  const a = [m[0], m[3], m[6]].map((v) => v * scale);
  const b = [m[1], m[4], m[7]].map((v) => v * scale);
  const t = [m[2], m[5], 1].map((v) => v * scale) as [number, number, number];
  const c = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
  // Rows of the transpose are the columns, so orthonormalise those and turn back.
  const q = orthonormalised([...a, ...b, ...c]);
  return { rotation: [q[0], q[3], q[6], q[1], q[4], q[7], q[2], q[5], q[8]], translation: t };
}

/** Gaussian elimination with row exchange; null when singular. */
function solveDense(rows: readonly (readonly number[])[], right: readonly number[]): number[] | null {
  const n = right.length;
  const a = rows.map((row, i) => [...row, right[i]]);
  for (let i = 0; i < n; i++) {
    let best = i;
    for (let k = i + 1; k < n; k++) if (Math.abs(a[k][i]) > Math.abs(a[best][i])) best = k;
    [a[i], a[best]] = [a[best], a[i]];
    if (Math.abs(a[i][i]) < 1e-14) return null;
    for (let k = i + 1; k < n; k++) {
      const f = a[k][i] / a[i][i];
      for (let j = i; j <= n; j++) a[k][j] -= f * a[i][j];
    }
  }
  const x = new Array<number>(n).fill(0);
  for (let i = n - 1; i >= 0; i--) {
    let sum = a[i][n];
    for (let j = i + 1; j < n; j++) sum -= a[i][j] * x[j];
    x[i] = sum / a[i][i];
  }
  return x;
}
