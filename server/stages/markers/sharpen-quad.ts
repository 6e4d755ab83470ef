import type { Raster } from '../../images/raster.js';
import { sampleGrey } from '../../images/sample-grey.js';
import type { Quad } from './quad-from-shape.js';

/** Places along each side at which the edge is looked for, and the part of the side (from its middle) that they cover. */
const PLACES = 12;
const COVERED = 0.8;
const STEP_PX = 0.5;

/**
 * Moves the sides of a quad to where the picture is steepest from dark inside to bright outside, each a straight line
 * fitted to places along it, and returns the lines' crossings. Good to a few tenths of a pixel of this picture.
 * @param reachPx how far from the side to look
 * @returns null when a side has no such edge
 */
export function sharpenQuad(grey: Raster, quad: Quad, reachPx: number): Quad | null {
  const lines: Line[] = [];
  for (let side = 0; side < 4; side++) {
    const line = sideLine(grey, quad, side, reachPx);
    if (line === null) return null;
    lines.push(line);
  }
  const sharp = new Float64Array(8);
  for (let corner = 0; corner < 4; corner++) {
    const [p, q] = [lines[(corner + 3) % 4], lines[corner]];
    const det = p.nx * q.ny - p.ny * q.nx;
    if (Math.abs(det) < 0.05) return null;
    sharp[2 * corner] = (p.c * q.ny - q.c * p.ny) / det;
    sharp[2 * corner + 1] = (p.nx * q.c - q.nx * p.c) / det;
  }
  for (let i = 0; i < 8; i++) if (Math.abs(sharp[i] - quad[i]) > 3 * reachPx + 2) return null;
  return sharp;
}

/** nx·x + ny·y = c */
interface Line {
  readonly nx: number;
  readonly ny: number;
  readonly c: number;
}

function sideLine(grey: Raster, quad: Quad, side: number, reachPx: number): Line | null {
  const next = (side + 1) % 4;
  const [x0, y0, x1, y1] = [quad[2 * side], quad[2 * side + 1], quad[2 * next], quad[2 * next + 1]];
  const length = Math.hypot(x1 - x0, y1 - y0);
  if (length < 3) return null;
  // Clockwise quad: this normal points out of it.
  const [nx, ny] = [(y1 - y0) / length, (x0 - x1) / length];
  const xs: number[] = [];
  const ys: number[] = [];
  for (let i = 0; i < PLACES; i++) {
    const t = 0.5 + COVERED * ((i + 0.5) / PLACES - 0.5);
    const [px, py] = [x0 + (x1 - x0) * t, y0 + (y1 - y0) * t];
    const offset = steepestOffset(grey, px, py, nx, ny, reachPx);
    if (offset === null) continue;
    xs.push(px + offset * nx);
    ys.push(py + offset * ny);
  }
  return xs.length < PLACES / 2 ? null : trimmedLine(xs, ys, nx, ny);
}

/** Centre of the brightening along the normal, weighted by its steepness squared; null when nothing brightens. */
function steepestOffset(grey: Raster, px: number, py: number, nx: number, ny: number, reach: number): number | null {
  let weight = 0;
  let sum = 0;
  for (let s = -reach; s <= reach + 1e-9; s += STEP_PX) {
    const rise =
      sampleGrey(grey, px + (s + 1) * nx, py + (s + 1) * ny) - sampleGrey(grey, px + (s - 1) * nx, py + (s - 1) * ny);
    if (rise < 4) continue;
    weight += rise * rise;
    sum += rise * rise * s;
  }
  return weight > 0 ? sum / weight : null;
}

/** Line through the points by total least squares, fitted again without those farther off than twice the spread. */
function trimmedLine(xs: readonly number[], ys: readonly number[], nx: number, ny: number): Line | null {
  let kept = xs.map((_, i) => i);
  let line: Line | null = null;
  for (let round = 0; round < 3; round++) {
    line = lineThrough(xs, ys, kept, nx, ny);
    if (line === null) return null;
    const { nx: lx, ny: ly, c } = line;
    const off = kept.map((i) => Math.abs(lx * xs[i] + ly * ys[i] - c));
    const limit = Math.max(0.3, 2 * [...off].sort((a, b) => a - b)[off.length >> 1]);
    const next = kept.filter((_, k) => off[k] <= limit);
    if (next.length === kept.length || next.length < 4) return line;
    kept = next;
  }
  return line;
}

function lineThrough(xs: readonly number[], ys: readonly number[], kept: readonly number[], nx: number, ny: number) {
  let [mx, my] = [0, 0];
  for (const i of kept) {
    mx += xs[i] / kept.length;
    my += ys[i] / kept.length;
  }
  let [sxx, sxy, syy] = [0, 0, 0];
  for (const i of kept) {
    const [dx, dy] = [xs[i] - mx, ys[i] - my];
    sxx += dx * dx;
    sxy += dx * dy;
    syy += dy * dy;
  }
  const angle = 0.5 * Math.atan2(2 * sxy, sxx - syy);
  let [lx, ly] = [-Math.sin(angle), Math.cos(angle)];
  if (lx * nx + ly * ny < 0) [lx, ly] = [-lx, -ly];
  if (lx * nx + ly * ny < 0.7) return null;
  return { nx: lx, ny: ly, c: lx * mx + ly * my };
}
