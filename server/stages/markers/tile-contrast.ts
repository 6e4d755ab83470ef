import type { Raster } from '../../images/raster.js';

/** Side of the tiles of which darkest and brightest pixel are taken; with its neighbours a tile sees 12 × 12 px. */
export const TILE_PX = 4;

/** Darkest and brightest code within each tile and its eight neighbours, row by row. */
export interface TileContrast {
  readonly columns: number;
  readonly rows: number;
  readonly low: Uint8Array;
  readonly high: Uint8Array;
  /** Difference of brightest and darkest in the middle one of all tiles taken alone: grain and noise of plain areas. */
  readonly usualRange: number;
}

/** Local extremes of a grey picture, as in Wang and Olson, AprilTag 2 (IROS 2016), section III. */
export function tileContrast(grey: Raster): TileContrast {
  const columns = Math.ceil(grey.widthPx / TILE_PX);
  const rows = Math.ceil(grey.heightPx / TILE_PX);
  const darkest = new Uint8Array(columns * rows);
  const brightest = new Uint8Array(columns * rows);
  fillExtremes(grey, columns, darkest, brightest);
  const usualRange = medianRange(darkest, brightest);
  const low = smallestAround(darkest, columns, rows);
  const high = largestAround(brightest, columns, rows);
  return { columns, rows, low, high, usualRange };
}

/** Smaller and larger of two whole numbers without a branch: on noise a branch is guessed wrong half of the time. */
function smaller(a: number, b: number): number {
  const d = a - b;
  return b + (d & (d >> 31));
}

function larger(a: number, b: number): number {
  const d = a - b;
  return a - (d & (d >> 31));
}

function fillExtremes(grey: Raster, columns: number, darkest: Uint8Array, brightest: Uint8Array): void {
  const { widthPx, heightPx, data } = grey;
  const whole = Math.floor(widthPx / TILE_PX);
  darkest.fill(255);
  for (let y = 0; y < heightPx; y++) {
    let tile = Math.floor(y / TILE_PX) * columns;
    let at = y * widthPx;
    for (let c = 0; c < whole; c++, tile++, at += TILE_PX) {
      const p = data[at];
      const q = data[at + 1];
      const r = data[at + 2];
      const s = data[at + 3];
      darkest[tile] = smaller(darkest[tile], smaller(smaller(p, q), smaller(r, s)));
      brightest[tile] = larger(brightest[tile], larger(larger(p, q), larger(r, s)));
    }
    for (; at < (y + 1) * widthPx; at++) {
      darkest[tile] = smaller(darkest[tile], data[at]);
      brightest[tile] = larger(brightest[tile], data[at]);
    }
  }
}

function medianRange(darkest: Uint8Array, brightest: Uint8Array): number {
  const ranges = new Uint32Array(256);
  for (let i = 0; i < darkest.length; i++) ranges[brightest[i] - darkest[i]]++;
  let range = 0;
  for (let seen = ranges[0]; seen < darkest.length / 2; seen += ranges[range]) range++;
  return range;
}

/** Smallest of each tile and its eight neighbours. */
function smallestAround(values: Uint8Array, columns: number, rows: number): Uint8Array {
  const across = new Uint8Array(values.length);
  const out = new Uint8Array(values.length);
  for (let r = 0, i = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++, i++) {
      const before = c > 0 ? values[i - 1] : values[i];
      const after = c < columns - 1 ? values[i + 1] : values[i];
      across[i] = smaller(values[i], smaller(before, after));
    }
  }
  for (let r = 0, i = 0; r < rows; r++) {
    const above = r > 0 ? -columns : 0;
    const below = r < rows - 1 ? columns : 0;
    for (let c = 0; c < columns; c++, i++) out[i] = smaller(across[i], smaller(across[i + above], across[i + below]));
  }
  return out;
}

/** Largest of each tile and its eight neighbours. */
function largestAround(values: Uint8Array, columns: number, rows: number): Uint8Array {
  const turned = new Uint8Array(values.length);
  for (let i = 0; i < values.length; i++) turned[i] = 255 - values[i];
  const least = smallestAround(turned, columns, rows);
  for (let i = 0; i < least.length; i++) least[i] = 255 - least[i];
  return least;
}
