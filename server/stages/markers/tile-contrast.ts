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
  fillExtremes(grey, columns, rows, darkest, brightest);
  const usualRange = medianRange(darkest, brightest);
  const low = smallestAround(darkest, columns, rows);
  const high = largestAround(brightest, columns, rows);
  return { columns, rows, low, high, usualRange };
}

function fillExtremes(grey: Raster, columns: number, rows: number, darkest: Uint8Array, brightest: Uint8Array): void {
  const { widthPx, heightPx, data } = grey;
  for (let r = 0; r < rows; r++) {
    const top = r * TILE_PX * widthPx;
    const bottom = Math.min(heightPx, (r + 1) * TILE_PX) * widthPx;
    for (let c = 0; c < columns; c++) {
      const left = c * TILE_PX;
      const width = Math.min(TILE_PX, widthPx - left);
      let low = 255;
      let high = 0;
      for (let row = top + left; row < bottom; row += widthPx) {
        for (let at = row; at < row + width; at++) {
          const code = data[at];
          if (code < low) low = code;
          if (code > high) high = code;
        }
      }
      darkest[r * columns + c] = low;
      brightest[r * columns + c] = high;
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
      let least = values[i];
      if (c > 0 && values[i - 1] < least) least = values[i - 1];
      if (c < columns - 1 && values[i + 1] < least) least = values[i + 1];
      across[i] = least;
    }
  }
  for (let r = 0, i = 0; r < rows; r++) {
    const above = r > 0 ? -columns : 0;
    const below = r < rows - 1 ? columns : 0;
    for (let c = 0; c < columns; c++, i++) {
      let least = across[i];
      if (across[i + above] < least) least = across[i + above];
      if (across[i + below] < least) least = across[i + below];
      out[i] = least;
    }
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
