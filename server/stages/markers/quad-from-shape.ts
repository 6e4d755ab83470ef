import type { DarkShape } from './dark-shapes.js';

/** Four corners x0 y0 … x3 y3, clockwise as seen in the picture (x right, y down). */
export type Quad = Float64Array;

/** Of its hull a square's largest inscribed quadrilateral covers all but rounded corners; of a disc's only 64 %. */
const LEAST_COVER = 0.78;
/** The black border alone covers 7/16 of a tag, a little less where blur eats it. */
const LEAST_FILL = 0.35;
/** A hull of more corners is thinned: those that stand out least go first. */
const MOST_CORNERS = 20;

/** The quadrilateral that a dark shape looks like, or null when it does not look like one. */
export function quadFromShape(shape: DarkShape): Quad | null {
  const whole = hullOf(shape);
  const hullArea = areaOf(whole);
  if (whole.length < 8 || shape.areaPx2 < LEAST_FILL * hullArea) return null;
  const hull = thinned(whole);
  const quad = largestQuad(hull, hull.length / 2);
  if (quad === null || areaOf(quad) < LEAST_COVER * hullArea || isTriangle(quad)) return null;
  return quad;
}

/** A square tilted by 70° still has sides of one to three. */
const LEAST_SIDES_RATIO = 0.15;

function isTriangle(quad: Quad): boolean {
  const sides = [0, 2, 4, 6].map((i) => Math.hypot(quad[i] - quad[(i + 2) % 8], quad[i + 1] - quad[(i + 3) % 8]));
  return Math.min(...sides) < LEAST_SIDES_RATIO * Math.max(...sides);
}

/** Convex hull of the shape's pixel rims, clockwise in the picture (monotone chain, Andrew 1979). */
function hullOf(shape: DarkShape): Float64Array {
  const { top, left, right } = shape;
  const rows = left.length;
  if (chain.length < 4 * rows + 8) chain = new Float64Array(8 * rows + 8);
  let end = push(0, 0, right[0], top - 0.5);
  for (let r = 0; r < rows; r++) if (right[r] >= 0) end = push(0, end, right[r] + 0.5, top + r);
  end = push(0, end, right[rows - 1], top + rows - 0.5);
  const from = end;
  end = push(from, end, left[rows - 1], top + rows - 0.5);
  for (let r = rows - 1; r >= 0; r--) if (right[r] >= 0) end = push(from, end, left[r] - 0.5, top + r);
  end = push(from, end, left[0], top - 0.5);
  return chain.slice(0, end);
}

/** Room for the corners of a hull, used again and again: first those on the right of the shape, then those on its left. */
let chain = new Float64Array(0);

/**
 * Adds a point to a chain that turns clockwise, taking out those that no longer are corners.
 * @param from where the chain begins
 * @param end where it has ended so far
 * @returns where it ends now
 */
function push(from: number, end: number, x: number, y: number): number {
  let n = end;
  for (; n - from >= 4; n -= 2) {
    const ax = chain[n - 4];
    const ay = chain[n - 3];
    if ((chain[n - 2] - ax) * (y - ay) - (chain[n - 1] - ay) * (x - ax) > 1e-9) break;
  }
  chain[n] = x;
  chain[n + 1] = y;
  return n + 2;
}

/** The hull without the corners that take the least area with them. */
function thinned(hull: Float64Array): Float64Array {
  const corners = Array.from({ length: hull.length / 2 }, (_, i) => i);
  while (corners.length > MOST_CORNERS) {
    let least = Number.POSITIVE_INFINITY;
    let at = 0;
    for (let i = 0; i < corners.length; i++) {
      const before = corners[(i + corners.length - 1) % corners.length];
      const area = Math.abs(cross(hull, before, corners[i], corners[(i + 1) % corners.length]));
      if (area < least) {
        least = area;
        at = i;
      }
    }
    corners.splice(at, 1);
  }
  return Float64Array.from({ length: 2 * corners.length }, (_, i) => hull[2 * corners[i >> 1] + (i % 2)]);
}

/** The largest quadrilateral with corners on the hull: for each diagonal, the farthest corner on either side of it. */
function largestQuad(hull: Float64Array, count: number): Quad | null {
  let best = 0;
  let corners: readonly number[] | null = null;
  for (let i = 0; i < count - 2; i++) {
    for (let k = i + 2; k < count; k++) {
      const right = farthest(hull, count, i, k, i + 1, k);
      const left = farthest(hull, count, i, k, k + 1, count + i);
      const farRight = Math.abs(cross(hull, i, k, right));
      const farLeft = Math.abs(cross(hull, i, k, left));
      if (farRight + farLeft > best && farRight > 0 && farLeft > 0) {
        best = farRight + farLeft;
        corners = [i, right, k, left];
      }
    }
  }
  if (corners === null) return null;
  return Float64Array.from(corners.flatMap((m) => [hull[2 * m], hull[2 * m + 1]]));
}

/** Of the corners from…to (not including `to`, counted round), the one farthest from the line i–k; i where there is none. */
function farthest(hull: Float64Array, count: number, i: number, k: number, from: number, to: number): number {
  let most = 0;
  let at = i;
  for (let m = from; m < to; m++) {
    const corner = m < count ? m : m - count;
    const area = Math.abs(cross(hull, i, k, corner));
    if (area > most) {
      most = area;
      at = corner;
    }
  }
  return at;
}

function cross(p: Float64Array, a: number, b: number, c: number): number {
  const ax = p[2 * a];
  const ay = p[2 * a + 1];
  return (p[2 * b] - ax) * (p[2 * c + 1] - ay) - (p[2 * b + 1] - ay) * (p[2 * c] - ax);
}

/** Area inside a polygon x0 y0 x1 y1 …, positive when it runs clockwise in the picture. */
export function areaOf(polygon: Float64Array): number {
  let twice = 0;
  for (let i = 0, j = polygon.length - 2; i < polygon.length; j = i, i += 2)
    twice += polygon[j] * polygon[i + 1] - polygon[i] * polygon[j + 1];
  return twice / 2;
}
