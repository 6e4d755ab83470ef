import type { Raster } from '../../images/raster.js';
import { sampleGrey } from '../../images/sample-grey.js';
import { CODE_SIDE, type CodeMatch, nearestCode } from './tag-family.js';
import { type Homography, mapX, mapY } from './tag-plane.js';

export interface ReadOptions {
  readonly borderModules: 1 | 2;
  /** Code bits that may be corrected: 2 of the 5 that the family's distance of 11 allows, so that chance finds nothing. */
  readonly mostWrongBits: number;
  /** Least difference of white and black, codes. */
  readonly leastContrast: number;
}

export interface CodeReading extends CodeMatch {
  /** White minus black, codes. */
  readonly contrast: number;
}

/** Share of the ring of paper around the square that may look dark: things lie near the tag. */
const MOST_DARK_RING = 0.25;

/**
 * Reads the code of a tag whose black square is where `h` puts it. Each module is judged against black and white of its
 * surroundings: first two planes (border black, paper white), then, for a shadow across the tag, the extremes nearby.
 * The border must be black and the paper around it bright.
 * @returns null when this is no tag of the family; `quarterTurns` is relative to the homography's own corners
 */
export function readCode(grey: Raster, h: Homography, options: ReadOptions): CodeReading | null {
  const cells = sampleCells(grey, h, CODE_SIDE + 2 * options.borderModules);
  const contrast = contrastOf(cells);
  if (contrast < options.leastContrast) return null;
  const sharp = sharpened(cells);
  for (const [values, thresholds] of [
    [cells, planeThresholds(cells)],
    [sharp, planeThresholds(sharp)],
    [sharp, nearbyThresholds(sharp, contrast)],
  ] as const) {
    if (thresholds === null) continue;
    const match = judge(values, thresholds, options);
    if (match !== null) return { ...match, contrast };
  }
  return null;
}

/** Mean codes of the modules, the ring of paper around the square included, row by row. */
interface Cells {
  /** Modules across, ring included. */
  readonly across: number;
  readonly border: 1 | 2;
  readonly values: Float64Array;
}

const SPOTS = [
  [0, 0],
  [-0.2, -0.2],
  [0.2, -0.2],
  [0.2, 0.2],
  [-0.2, 0.2],
] as const;

function sampleCells(grey: Raster, h: Homography, modules: number): Cells {
  const across = modules + 2;
  const values = new Float64Array(across * across);
  const unit = 2 / modules;
  for (let row = 0; row < across; row++) {
    for (let column = 0; column < across; column++) {
      let sum = 0;
      for (const [da, db] of SPOTS) {
        const a = (column - 0.5 + da) * unit - 1;
        const b = (row - 0.5 + db) * unit - 1;
        sum += sampleGrey(grey, mapX(h, a, b), mapY(h, a, b));
      }
      values[row * across + column] = sum / SPOTS.length;
    }
  }
  return { across, border: ((modules - CODE_SIDE) / 2) as 1 | 2, values };
}

/** 0 in the ring of paper, 1 in the border, 2 in the code. */
function zoneOf(cells: Cells, row: number, column: number): 0 | 1 | 2 {
  const last = cells.across - 1;
  const depth = Math.min(row, column, last - row, last - column);
  return depth === 0 ? 0 : depth <= cells.border ? 1 : 2;
}

function contrastOf(cells: Cells): number {
  const ring: number[] = [];
  const border: number[] = [];
  eachCell(cells, (zone, index) => {
    if (zone === 0) ring.push(cells.values[index]);
    if (zone === 1) border.push(cells.values[index]);
  });
  return medianOf(ring) - medianOf(border);
}

function medianOf(values: number[]): number {
  return values.sort((p, q) => p - q)[values.length >> 1];
}

function eachCell(cells: Cells, visit: (zone: 0 | 1 | 2, index: number, row: number, column: number) => void): void {
  for (let row = 0; row < cells.across; row++)
    for (let column = 0; column < cells.across; column++)
      visit(zoneOf(cells, row, column), row * cells.across + column, row, column);
}

/** Takes some of the blur between neighbouring modules out again, as AprilTag's reader does (strength from memory). */
function sharpened(cells: Cells): Cells {
  const { across, values } = cells;
  const sharp = values.slice();
  for (let row = 1; row < across - 1; row++)
    for (let column = 1; column < across - 1; column++) {
      const i = row * across + column;
      sharp[i] += 0.25 * (4 * values[i] - values[i - 1] - values[i + 1] - values[i - across] - values[i + across]);
    }
  return { ...cells, values: sharp };
}

/** Midway between a plane through the paper ring and one through the border. */
function planeThresholds(cells: Cells): Float64Array | null {
  const white = planeThrough(cells, 0);
  const black = planeThrough(cells, 1);
  if (white === null || black === null) return null;
  const thresholds = new Float64Array(cells.values.length);
  eachCell(cells, (_zone, index, row, column) => {
    thresholds[index] = (white(row, column) + black(row, column)) / 2;
  });
  return thresholds;
}

/** Plane through the cells of one zone, fitted again without those farther off than twice the median deviation. */
function planeThrough(cells: Cells, zone: 0 | 1): ((row: number, column: number) => number) | null {
  let used: [number, number, number][] = [];
  const middle = (cells.across - 1) / 2;
  eachCell(cells, (z, index, row, column) => {
    if (z === zone) used.push([row - middle, column - middle, cells.values[index]]);
  });
  let plane = fitPlane(used);
  if (plane === null) return null;
  const off = used.map(([r, c, v]) => Math.abs(plane![0] + plane![1] * r + plane![2] * c - v));
  const limit = Math.max(4, 2.5 * [...off].sort((p, q) => p - q)[off.length >> 1]);
  used = used.filter((_, i) => off[i] <= limit);
  plane = used.length >= 12 ? (fitPlane(used) ?? plane) : plane;
  const [c0, c1, c2] = plane;
  return (row, column) => c0 + c1 * (row - middle) + c2 * (column - middle);
}

function fitPlane(points: readonly (readonly [number, number, number])[]): [number, number, number] | null {
  let [n, r, c, rr, rc, cc, v, rv, cv] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  for (const [pr, pc, pv] of points) {
    n += 1;
    r += pr;
    c += pc;
    rr += pr * pr;
    rc += pr * pc;
    cc += pc * pc;
    v += pv;
    rv += pr * pv;
    cv += pc * pv;
  }
  const det = n * (rr * cc - rc * rc) - r * (r * cc - rc * c) + c * (r * rc - rr * c);
  if (!(Math.abs(det) > 1e-9)) return null;
  const c0 = (v * (rr * cc - rc * rc) - r * (rv * cc - rc * cv) + c * (rv * rc - rr * cv)) / det;
  const c1 = (n * (rv * cc - rc * cv) - v * (r * cc - rc * c) + c * (r * cv - rv * c)) / det;
  const c2 = (n * (rr * cv - rv * rc) - r * (r * cv - rv * c) + v * (r * rc - rr * c)) / det;
  return [c0, c1, c2];
}

/** Midway between the darkest and the brightest module within two modules; bits there always differ. */
function nearbyThresholds(cells: Cells, contrast: number): Float64Array {
  const { across, values } = cells;
  const thresholds = new Float64Array(values.length);
  eachCell(cells, (_zone, index, row, column) => {
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (let reach = 1; reach <= 4 && high - low < 0.35 * contrast; reach++) {
      for (let r = Math.max(0, row - reach); r <= Math.min(across - 1, row + reach); r++)
        for (let c = Math.max(0, column - reach); c <= Math.min(across - 1, column + reach); c++) {
          low = Math.min(low, values[r * across + c]);
          high = Math.max(high, values[r * across + c]);
        }
    }
    thresholds[index] = (low + high) / 2;
  });
  return thresholds;
}

function judge(cells: Cells, thresholds: Float64Array, options: ReadOptions): CodeMatch | null {
  const grid: number[] = [];
  let [ring, darkRing, brightBorder] = [0, 0, 0];
  eachCell(cells, (zone, index) => {
    const bright = cells.values[index] > thresholds[index];
    if (zone === 2) grid.push(bright ? 1 : 0);
    else if (zone === 1) brightBorder += bright ? 1 : 0;
    else {
      ring++;
      darkRing += bright ? 0 : 1;
    }
  });
  if (darkRing > MOST_DARK_RING * ring || brightBorder > options.mostWrongBits) return null;
  const match = nearestCode(grid);
  return match.wrongBits + brightBorder <= options.mostWrongBits ? match : null;
}
