/** A point or a direction in the table plane, millimetres, as the contract writes it: [x, y]. */
export type Vec = readonly [number, number];

export const zero: Vec = [0, 0];

export function add(a: Vec, b: Vec): Vec {
  return [a[0] + b[0], a[1] + b[1]];
}

export function subtract(a: Vec, b: Vec): Vec {
  return [a[0] - b[0], a[1] - b[1]];
}

export function scale(a: Vec, factor: number): Vec {
  return [a[0] * factor, a[1] * factor];
}

export function dot(a: Vec, b: Vec): number {
  return a[0] * b[0] + a[1] * b[1];
}

/** z of the cross product: positive when b lies counter-clockwise of a. */
export function cross(a: Vec, b: Vec): number {
  return a[0] * b[1] - a[1] * b[0];
}

/** The plain root: Math.hypot guards against overflow that millimetres never reach, and takes many times as long. */
export function lengthOf(a: Vec): number {
  return Math.sqrt(a[0] * a[0] + a[1] * a[1]);
}

export function distance(a: Vec, b: Vec): number {
  const [x, y] = [a[0] - b[0], a[1] - b[1]];
  return Math.sqrt(x * x + y * y);
}

export function direction(headingRad: number): Vec {
  return [Math.cos(headingRad), Math.sin(headingRad)];
}

export function headingOf(a: Vec): number {
  return Math.atan2(a[1], a[0]);
}

/** The direction turned a quarter counter-clockwise: what lies to the left. */
export function leftOf(a: Vec): Vec {
  return [-a[1], a[0]];
}

export function turn(a: Vec, angleRad: number): Vec {
  const c = Math.cos(angleRad);
  const s = Math.sin(angleRad);
  return [a[0] * c - a[1] * s, a[0] * s + a[1] * c];
}
