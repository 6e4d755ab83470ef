import type { DarkShape } from './dark-shapes.js';

/** Four corners x0 y0 … x3 y3, clockwise as seen in the picture (x right, y down). */
export type Quad = Float64Array;

/** Of its hull a square's largest inscribed quadrilateral covers all but rounded corners; of a disc's only 64 %. */
const LEAST_COVER = 0.78;
/** The black border alone covers 7/16 of a tag, a little less where blur eats it. */
const LEAST_FILL = 0.3;

/** The quadrilateral that a dark shape looks like, or null when it does not look like one. */
export function quadFromShape(shape: DarkShape): Quad | null {
  const hull = hullOf(shape);
  const count = hull.length / 2;
  if (count < 4) return null;
  const hullArea = areaOf(hull);
  if (shape.areaPx2 < LEAST_FILL * hullArea) return null;
  const quad = largestQuad(hull, count);
  if (quad === null || areaOf(quad) < LEAST_COVER * hullArea) return null;
  return quad;
}

/** Convex hull of the shape's pixel rims, clockwise in the picture (monotone chain, Andrew 1979). */
function hullOf(shape: DarkShape): Float64Array {
  const rows = shape.left.length;
  const rightSide: number[] = [];
  const leftSide: number[] = [];
  push(rightSide, shape.right[0], shape.top - 0.5);
  for (let r = 0; r < rows; r++) if (shape.right[r] >= 0) push(rightSide, shape.right[r] + 0.5, shape.top + r);
  push(rightSide, shape.right[rows - 1], shape.top + rows - 0.5);
  push(leftSide, shape.left[rows - 1], shape.top + rows - 0.5);
  for (let r = rows - 1; r >= 0; r--) if (shape.right[r] >= 0) push(leftSide, shape.left[r] - 0.5, shape.top + r);
  push(leftSide, shape.left[0], shape.top - 0.5);
  return Float64Array.from([...rightSide, ...leftSide]);
}

/** Adds a point to a chain that turns clockwise, taking out those that no longer are corners. */
function push(chain: number[], x: number, y: number): void {
  for (let n = chain.length; n >= 4; n = chain.length) {
    const [ax, ay, bx, by] = [chain[n - 4], chain[n - 3], chain[n - 2], chain[n - 1]];
    if ((bx - ax) * (y - ay) - (by - ay) * (x - ax) > 1e-9) break;
    chain.length = n - 2;
  }
  chain.push(x, y);
}

/** The largest quadrilateral with corners on the hull: for each diagonal, the farthest point on either side of it. */
function largestQuad(hull: Float64Array, count: number): Quad | null {
  let best = 0;
  let corners: [number, number, number, number] | null = null;
  for (let i = 0; i < count - 2; i++) {
    let j = i + 1;
    for (let k = i + 2; k < count; k++) {
      const far = (m: number) => Math.abs(cross(hull, i, k, m % count));
      while (j + 1 < k && far(j + 1) >= far(j)) j++;
      let l = k;
      let farthest = 0;
      for (let m = k + 1; m < count + i; m++) {
        const distance = far(m);
        if (distance > farthest) {
          farthest = distance;
          l = m;
        }
      }
      const area = (far(j) + farthest) / 2;
      if (area > best) {
        best = area;
        corners = [i, j, k, l % count];
      }
    }
  }
  if (corners === null || new Set(corners).size < 4) return null;
  return Float64Array.from(corners.flatMap((m) => [hull[2 * m], hull[2 * m + 1]]));
}

function cross(p: Float64Array, a: number, b: number, c: number): number {
  const [ax, ay] = [p[2 * a], p[2 * a + 1]];
  return (p[2 * b] - ax) * (p[2 * c + 1] - ay) - (p[2 * b + 1] - ay) * (p[2 * c] - ax);
}

/** Area inside a polygon x0 y0 x1 y1 …, positive when it runs clockwise in the picture. */
export function areaOf(polygon: Float64Array): number {
  let twice = 0;
  for (let i = 0, j = polygon.length - 2; i < polygon.length; j = i, i += 2)
    twice += polygon[j] * polygon[i + 1] - polygon[i] * polygon[j + 1];
  return twice / 2;
}
