/** A rotation matrix, row by row, from a rotation vector (axis times angle, radians): Rodrigues' formula. */
export function rotationFromVector(wx: number, wy: number, wz: number): number[] {
  const angle = Math.hypot(wx, wy, wz);
  if (angle < 1e-12) return [1, -wz, wy, wz, 1, -wx, -wy, wx, 1];
  const x = wx / angle;
  const y = wy / angle;
  const z = wz / angle;
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  const v = 1 - c;
  return [
    c + x * x * v,
    x * y * v - z * s,
    x * z * v + y * s,
    y * x * v + z * s,
    c + y * y * v,
    y * z * v - x * s,
    z * x * v - y * s,
    z * y * v + x * s,
    c + z * z * v,
  ];
}

/** The rotation vector of first turning by `before`, then by `after`: exp(after) · exp(before). Product of unit quaternions. */
export function composedRotation(
  after: readonly [number, number, number],
  before: readonly [number, number, number],
): [number, number, number] {
  const [a, ax, ay, az] = quaternionOf(after);
  const [b, bx, by, bz] = quaternionOf(before);
  const w = a * b - ax * bx - ay * by - az * bz;
  const x = a * bx + ax * b + ay * bz - az * by;
  const y = a * by + ay * b + az * bx - ax * bz;
  const z = a * bz + az * b + ax * by - ay * bx;
  const sine = Math.hypot(x, y, z);
  // 2 atan2(sine, w) / sine where the sine is not too small to divide by.
  const scale = sine < 1e-12 ? 2 / w : (2 * Math.atan2(Math.sign(w) * sine, Math.abs(w))) / sine;
  return [scale * x, scale * y, scale * z];
}

function quaternionOf([x, y, z]: readonly [number, number, number]): [number, number, number, number] {
  const angle = Math.hypot(x, y, z);
  const s = angle < 1e-12 ? 0.5 : Math.sin(angle / 2) / angle;
  return [Math.cos(angle / 2), s * x, s * y, s * z];
}

/** a · b for 3 × 3 matrices row by row. */
export function multiply3(a: readonly number[], b: readonly number[]): number[] {
  const out = new Array<number>(9);
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++) out[3 * i + j] = a[3 * i] * b[j] + a[3 * i + 1] * b[3 + j] + a[3 * i + 2] * b[6 + j];
  return out;
}

/** The nearest rotation to a nearly orthonormal matrix, by Gram–Schmidt on its rows. */
export function orthonormalised(m: readonly number[]): number[] {
  const unit = (v: number[]): number[] => {
    const n = Math.hypot(...v);
    return v.map((x) => x / n);
  };
  const a = unit([m[0], m[1], m[2]]);
  const dot = a[0] * m[3] + a[1] * m[4] + a[2] * m[5];
  const b = unit([m[3] - dot * a[0], m[4] - dot * a[1], m[5] - dot * a[2]]);
  return [...a, ...b, a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}
