import { type KernelExports, loadKernel } from '../../images/load-kernel.js';
import type { Raster } from '../../images/raster.js';
import { wasmBase64 } from './dark-shapes-kernel.js';

/** Side of the tiles of which darkest and brightest pixel are taken; with its neighbours a tile sees 12 × 12 px. */
const tilePx = 4;

/** Darkest and brightest code within each tile and its eight neighbours, row by row. */
export interface TileContrast {
  readonly columns: number;
  readonly rows: number;
  readonly low: Uint8Array;
  readonly high: Uint8Array;
  /** Difference of brightest and darkest in the middle one of all tiles taken alone: grain and noise of plain areas. */
  readonly usualRange: number;
}

/** Horizontal runs of dark pixels in reading order. */
export interface DarkRuns {
  readonly rows: number;
  readonly count: number;
  /** First pixel of each run, and the first after it; what comes after the last is of no account. Until others are asked for. */
  readonly spans: Int32Array;
  /** The first run of each row, and the number of all. */
  readonly firstOfRow: Int32Array;
}

/** What server/kernels/dark-shapes.ts exports. */
interface Kernel extends KernelExports {
  prepare(firstByte: number, widthPx: number, heightPx: number, bandRows: number): number;
  readExtremes(first: number, rows: number): void;
  spreadExtremes(): number;
  findRuns(first: number, rows: number, leastContrast: number, fraction: number): number;
  lowAt(): number;
  highAt(): number;
  tileStride(): number;
  firstsAt(): number;
  spansAt(): number;
}

const kernel = loadKernel<Kernel>(wasmBase64);
let shared: Kernel | undefined;

/** The first bytes of the kernel's memory are its own. */
const firstFreeByte = 4096;

/** Rows that are looked at together: as many as stay in a processor's cache. */
const mostBandRows = 16 * tilePx;

/** Local extremes of a grey picture, as in Wang and Olson, AprilTag 2 (IROS 2016), section III. */
export function tileContrast(grey: Raster): TileContrast {
  const columns = Math.ceil(grey.widthPx / tilePx);
  const rows = Math.ceil(grey.heightPx / tilePx);
  const { run, bandAt } = readyFor(grey);
  eachBand(grey, run, bandAt, (first, count) => run.readExtremes(first, count));
  const usualRange = run.spreadExtremes();
  const low = new Uint8Array(columns * rows);
  const high = new Uint8Array(columns * rows);
  for (let r = 0; r < rows; r++) {
    low.set(tileRow(run, run.lowAt(), r, columns), r * columns);
    high.set(tileRow(run, run.highAt(), r, columns), r * columns);
  }
  return { columns, rows, low, high, usualRange };
}

/** Room for runs, used again and again: new memory costs more than what is done in it. */
let spanRoom = new Int32Array(1 << 16);

/**
 * Runs of pixels under a limit between the extremes around their tile.
 * @param leastContrast a tile in which they differ by less holds none, codes
 * @param fraction where between dark (0) and bright (1) the limit lies
 */
export function darkRuns(grey: Raster, tiles: TileContrast, leastContrast: number, fraction: number): DarkRuns {
  const { columns, rows } = tiles;
  const { run, bandAt } = readyFor(grey);
  for (let r = 0; r < rows; r++) {
    tileRow(run, run.lowAt(), r, columns).set(tiles.low.subarray(r * columns, (r + 1) * columns));
    tileRow(run, run.highAt(), r, columns).set(tiles.high.subarray(r * columns, (r + 1) * columns));
  }
  const { buffer } = run.memory;
  const firstOfRow = new Int32Array(grey.heightPx + 1);
  let count = 0;
  eachBand(grey, run, bandAt, (first, bandRows) => {
    const found = run.findRuns(first, bandRows, leastContrast, fraction);
    const firsts = new Int32Array(buffer, run.firstsAt(), bandRows);
    for (let y = 0; y < bandRows; y++) firstOfRow[first + y] = count + firsts[y];
    if (2 * (count + found) > spanRoom.length) spanRoom = grown(spanRoom, 2 * (count + found));
    spanRoom.set(new Int32Array(buffer, run.spansAt(), 2 * found), 2 * count);
    count += found;
  });
  firstOfRow[grey.heightPx] = count;
  return { rows: grey.heightPx, count, spans: spanRoom, firstOfRow };
}

/** The kernel with room for a picture's tiles and a band of its rows. */
function readyFor({ widthPx, heightPx }: Raster): { run: Kernel; bandAt: number } {
  shared ??= kernel.instance();
  return { run: shared, bandAt: shared.prepare(firstFreeByte, widthPx, heightPx, mostBandRows) };
}

/** Puts the picture into its place band by band. */
function eachBand(grey: Raster, run: Kernel, bandAt: number, look: (first: number, rows: number) => void): void {
  const { widthPx, heightPx, data } = grey;
  for (let first = 0; first < heightPx; first += mostBandRows) {
    const rows = Math.min(mostBandRows, heightPx - first);
    const band = data.subarray(first * widthPx, (first + rows) * widthPx);
    new Uint8Array(run.memory.buffer, bandAt, band.length).set(band);
    look(first, rows);
  }
}

function tileRow(run: Kernel, from: number, row: number, columns: number): Uint8Array {
  return new Uint8Array(run.memory.buffer, from + row * run.tileStride(), columns);
}

function grown(values: Int32Array<ArrayBuffer>, least: number): Int32Array<ArrayBuffer> {
  const larger = new Int32Array(Math.max(least, 2 * values.length));
  larger.set(values);
  return larger;
}
