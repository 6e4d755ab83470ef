import type { Raster } from '../../images/raster.js';
import { TILE_PX, type TileContrast } from './tile-contrast.js';

/** A connected patch darker than its surroundings. */
export interface DarkShape {
  /** First row. */
  readonly top: number;
  /** First and last dark pixel of each row from `top` on. */
  readonly left: Int32Array;
  readonly right: Int32Array;
  readonly areaPx2: number;
}

export interface DarkShapeOptions {
  /** Smallest and largest side of the box around a shape, px. */
  readonly leastBoxPx: number;
  readonly mostBoxPx: number;
  /** A tile in which bright and dark differ by less holds no edge, codes. */
  readonly leastContrast: number;
  /** Where between dark (0) and bright (1) the threshold lies. */
  readonly fraction: number;
}

/** Connected dark patches (8-neighbours) of a grey picture under a threshold between the extremes of each neighbourhood. */
export function findDarkShapes(grey: Raster, tiles: TileContrast, options: DarkShapeOptions): DarkShape[] {
  const runs = darkRuns(grey, tiles, options);
  joinRuns(runs);
  return shapesOf(runs, options);
}

/** Horizontal runs of dark pixels in reading order; `firstOfRow[y]` is the first run of row y. */
interface Runs {
  readonly rows: number;
  readonly count: number;
  readonly start: Int32Array;
  /** First pixel after the run. */
  readonly end: Int32Array;
  readonly parent: Int32Array;
  readonly firstOfRow: Int32Array;
}

function darkRuns(grey: Raster, tiles: TileContrast, options: DarkShapeOptions): Runs {
  const { widthPx, heightPx, data } = grey;
  const firstOfRow = new Int32Array(heightPx + 1);
  /** A pixel of the tile is dark when its code is below; 0 where the tile holds no edge. */
  const below = new Uint8Array(tiles.columns);
  let start = new Int32Array(1 << 16);
  let end = new Int32Array(1 << 16);
  let count = 0;
  for (let y = 0; y < heightPx; y++) {
    if (y % TILE_PX === 0) thresholdsOfRow(tiles, y / TILE_PX, options, below);
    firstOfRow[y] = count;
    if (count + widthPx > start.length) {
      start = grown(start);
      end = grown(end);
    }
    const row = y * widthPx;
    let open = -1;
    for (let c = 0; c < tiles.columns; c++) {
      const limit = below[c];
      const from = c * TILE_PX;
      if (limit === 0) {
        if (open >= 0) {
          start[count] = open;
          end[count++] = from;
          open = -1;
        }
        continue;
      }
      const to = Math.min(widthPx, from + TILE_PX);
      for (let x = from; x < to; x++) {
        if (data[row + x] < limit) {
          if (open < 0) open = x;
        } else if (open >= 0) {
          start[count] = open;
          end[count++] = x;
          open = -1;
        }
      }
    }
    if (open >= 0) {
      start[count] = open;
      end[count++] = widthPx;
    }
  }
  firstOfRow[heightPx] = count;
  return { rows: heightPx, count, start, end, parent: new Int32Array(count), firstOfRow };
}

function thresholdsOfRow(tiles: TileContrast, row: number, options: DarkShapeOptions, below: Uint8Array): void {
  for (let c = 0, i = row * tiles.columns; c < tiles.columns; c++, i++) {
    const range = tiles.high[i] - tiles.low[i];
    below[c] = range >= options.leastContrast ? Math.ceil(tiles.low[i] + range * options.fraction) : 0;
  }
}

function grown(values: Int32Array<ArrayBuffer>): Int32Array<ArrayBuffer> {
  const larger = new Int32Array(values.length * 2);
  larger.set(values);
  return larger;
}

/** Joins runs that touch runs of the row above, corners included (union by the smaller index, path halving). */
function joinRuns(runs: Runs): void {
  const { start, end, firstOfRow, parent } = runs;
  for (let i = 0; i < parent.length; i++) parent[i] = i;
  for (let y = 1; y < runs.rows; y++) {
    let above = firstOfRow[y - 1];
    const aboveEnd = firstOfRow[y];
    for (let i = firstOfRow[y]; i < firstOfRow[y + 1]; i++) {
      while (above < aboveEnd && end[above] < start[i]) above++;
      for (let k = above; k < aboveEnd && start[k] <= end[i]; k++) {
        const a = rootOf(parent, i);
        const b = rootOf(parent, k);
        if (a < b) parent[b] = a;
        else parent[a] = b;
      }
    }
  }
}

function rootOf(parent: Int32Array, of: number): number {
  let i = of;
  while (parent[i] !== i) {
    parent[i] = parent[parent[i]];
    i = parent[i];
  }
  return i;
}

/** Box around a patch and its area, five numbers each: least x, end x, first row, last row, area. */
const BOX = 5;

function shapesOf(runs: Runs, options: DarkShapeOptions): DarkShape[] {
  const { start, end, parent, firstOfRow } = runs;
  // A root comes before all others of its patch, so patches are numbered in one pass.
  const patchOf = new Int32Array(runs.count);
  let patches = 0;
  for (let i = 0; i < runs.count; i++) patchOf[i] = parent[i] === i ? patches++ : patchOf[rootOf(parent, i)];
  const box = new Int32Array(patches * BOX);
  for (let y = 0; y < runs.rows; y++) {
    for (let i = firstOfRow[y]; i < firstOfRow[y + 1]; i++) {
      const at = patchOf[i] * BOX;
      if (box[at + 4] === 0) {
        box[at] = start[i];
        box[at + 1] = end[i];
        box[at + 2] = y;
      } else {
        if (start[i] < box[at]) box[at] = start[i];
        if (end[i] > box[at + 1]) box[at + 1] = end[i];
      }
      box[at + 3] = y;
      box[at + 4] += end[i] - start[i];
    }
  }
  const shapes: DarkShape[] = [];
  /** Number of the patch's shape and 1 more; 0 for none. */
  const shapeOf = new Int32Array(patches);
  for (let p = 0; p < patches; p++) {
    const [width, height] = [box[p * BOX + 1] - box[p * BOX], box[p * BOX + 3] - box[p * BOX + 2] + 1];
    const areaPx2 = box[p * BOX + 4];
    if (Math.min(width, height) < options.leastBoxPx || Math.max(width, height) > options.mostBoxPx) continue;
    // The black border alone covers 7/16 of a tag; lying askew and tilted, a tag fills a third of its box.
    if (areaPx2 < 0.12 * width * height) continue;
    const left = new Int32Array(height).fill(0x7fffffff);
    const right = new Int32Array(height).fill(-1);
    shapeOf[p] = shapes.push({ top: box[p * BOX + 2], left, right, areaPx2 });
  }
  if (shapes.length > 0) fillRows(runs, patchOf, shapeOf, shapes);
  return shapes;
}

function fillRows(runs: Runs, patchOf: Int32Array, shapeOf: Int32Array, shapes: readonly DarkShape[]): void {
  const { start, end, firstOfRow } = runs;
  for (let y = 0; y < runs.rows; y++) {
    for (let i = firstOfRow[y]; i < firstOfRow[y + 1]; i++) {
      const number = shapeOf[patchOf[i]];
      if (number === 0) continue;
      const { top, left, right } = shapes[number - 1];
      if (start[i] < left[y - top]) left[y - top] = start[i];
      if (end[i] - 1 > right[y - top]) right[y - top] = end[i] - 1;
    }
  }
}
