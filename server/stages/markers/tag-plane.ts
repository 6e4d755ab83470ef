import type { Quad } from './quad-from-shape.js';

/**
 * Eight numbers h that take a point (a, b) of the tag to the picture:
 * x = (h0 a + h1 b + h2)/(h6 a + h7 b + 1), y = (h3 a + h4 b + h5)/(h6 a + h7 b + 1).
 * a and b run from −1 to 1 across the black square, a to the right and b down as printed.
 */
export type Homography = Float64Array;

/** The homography that puts the tag's corners (upper left, upper right, lower right, lower left) on a quad; null for a degenerate one. */
export function homographyFromQuad(quad: Quad): Homography | null {
  const [x0, y0, x1, y1, x2, y2, x3, y3] = quad;
  // Heckbert, Fundamentals of Texture Mapping (1989), 2.2.3: unit square to quadrilateral.
  const [dx1, dy1, dx2, dy2] = [x1 - x2, y1 - y2, x3 - x2, y3 - y2];
  const [sx, sy] = [x0 - x1 + x2 - x3, y0 - y1 + y2 - y3];
  const det = dx1 * dy2 - dx2 * dy1;
  if (Math.abs(det) < 1e-9) return null;
  const g = (sx * dy2 - dx2 * sy) / det;
  const h = (dx1 * sy - sx * dy1) / det;
  // Unit square to −1…1: s = (a + 1)/2.
  const w = 1 + (g + h) / 2;
  if (Math.abs(w) < 1e-9) return null;
  const [xs, xt] = [x1 - x0 + g * x1, x3 - x0 + h * x3];
  const [ys, yt] = [y1 - y0 + g * y1, y3 - y0 + h * y3];
  return Float64Array.of(
    xs / 2 / w,
    xt / 2 / w,
    (x0 + (xs + xt) / 2) / w,
    ys / 2 / w,
    yt / 2 / w,
    (y0 + (ys + yt) / 2) / w,
    g / 2 / w,
    h / 2 / w,
  );
}

export function mapX(h: Homography, a: number, b: number): number {
  return (h[0] * a + h[1] * b + h[2]) / (h[6] * a + h[7] * b + 1);
}

export function mapY(h: Homography, a: number, b: number): number {
  return (h[3] * a + h[4] * b + h[5]) / (h[6] * a + h[7] * b + 1);
}

/** Length of the shortest side of a quad, px. */
export function shortestSidePx(quad: Quad): number {
  let shortest = Number.POSITIVE_INFINITY;
  for (let i = 0; i < 4; i++) {
    const j = (i + 1) % 4;
    shortest = Math.min(shortest, Math.hypot(quad[2 * i] - quad[2 * j], quad[2 * i + 1] - quad[2 * j + 1]));
  }
  return shortest;
}
