import type { Raster } from '../../images/raster.js';

/** Side of the tiles whose darkest and brightest pixel set the threshold; with its neighbours a tile sees 12 × 12 px. */
const TILE_PX = 4;

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

/**
 * Connected dark patches (8-neighbours) of a grey picture under a local threshold, between the extremes of each
 * neighbourhood as in Wang and Olson, AprilTag 2 (IROS 2016), section III.
 */
export function findDarkShapes(grey: Raster, options: DarkShapeOptions): DarkShape[] {
  const runs = darkRuns(grey, tileThresholds(grey, options));
  joinRuns(runs);
  return shapesOf(runs, options);
}

interface TileThresholds {
  readonly columns: number;
  /** A pixel is dark when its code is below; 0 where the tile holds no edge. */
  readonly below: Uint8Array;
}

function tileThresholds(grey: Raster, options: DarkShapeOptions): TileThresholds {
  const { columns, rows, darkest, brightest } = tileExtremes(grey);
  const below = new Uint8Array(columns * rows);
  const wideDark = new Uint8Array(columns * rows);
  const wideBright = new Uint8Array(columns * rows);
  for (let r = 0; r < rows; r++) {
    const above = Math.max(0, r - 1) * columns;
    const under = Math.min(rows - 1, r + 1) * columns;
    for (let c = 0, i = r * columns; c < columns; c++, i++) {
      wideDark[i] = Math.min(darkest[above + c], darkest[i], darkest[under + c]);
      wideBright[i] = Math.max(brightest[above + c], brightest[i], brightest[under + c]);
    }
  }
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++) {
      const i = r * columns + c;
      const before = c > 0 ? i - 1 : i;
      const after = c < columns - 1 ? i + 1 : i;
      const low = Math.min(wideDark[before], wideDark[i], wideDark[after]);
      const high = Math.max(wideBright[before], wideBright[i], wideBright[after]);
      if (high - low >= options.leastContrast) below[i] = Math.ceil(low + (high - low) * options.fraction);
    }
  }
  return { columns, below };
}

/** Darkest and brightest code of each tile. */
export function tileExtremes(grey: Raster) {
  const { widthPx, heightPx, data } = grey;
  const columns = Math.ceil(widthPx / TILE_PX);
  const rows = Math.ceil(heightPx / TILE_PX);
  const darkest = new Uint8Array(columns * rows).fill(255);
  const brightest = new Uint8Array(columns * rows);
  for (let y = 0; y < heightPx; y++) {
    const tileRow = (y >> 2) * columns;
    let at = y * widthPx;
    for (let c = 0; c < columns; c++) {
      const end = Math.min(at + TILE_PX, (y + 1) * widthPx);
      let low = darkest[tileRow + c];
      let high = brightest[tileRow + c];
      for (; at < end; at++) {
        const code = data[at];
        if (code < low) low = code;
        if (code > high) high = code;
      }
      darkest[tileRow + c] = low;
      brightest[tileRow + c] = high;
    }
  }
  return { columns, rows, darkest, brightest };
}

/** Horizontal runs of dark pixels in reading order; `firstOfRow[y]` is the first run of row y. */
interface Runs {
  readonly rows: number;
  count: number;
  start: Int32Array;
  end: Int32Array;
  parent: Int32Array;
  readonly firstOfRow: Int32Array;
}

function darkRuns(grey: Raster, thresholds: TileThresholds): Runs {
  const { widthPx, heightPx, data } = grey;
  const first = 1 << 16;
  const runs: Runs = {
    rows: heightPx,
    count: 0,
    start: new Int32Array(first),
    end: new Int32Array(first),
    parent: new Int32Array(0),
    firstOfRow: new Int32Array(heightPx + 1),
  };
  for (let y = 0; y < heightPx; y++) {
    runs.firstOfRow[y] = runs.count;
    if (runs.count + widthPx > runs.start.length) growRuns(runs);
    const tileRow = (y >> 2) * thresholds.columns;
    const row = y * widthPx;
    let open = -1;
    for (let x = 0; x < widthPx; ) {
      const below = thresholds.below[tileRow + (x >> 2)];
      const end = Math.min(widthPx, x + TILE_PX);
      if (below === 0) {
        if (open >= 0) {
          runs.start[runs.count] = open;
          runs.end[runs.count++] = x;
          open = -1;
        }
        x = end;
        continue;
      }
      for (; x < end; x++) {
        if (data[row + x] < below) {
          if (open < 0) open = x;
        } else if (open >= 0) {
          runs.start[runs.count] = open;
          runs.end[runs.count++] = x;
          open = -1;
        }
      }
    }
    if (open >= 0) {
      runs.start[runs.count] = open;
      runs.end[runs.count++] = widthPx;
    }
  }
  runs.firstOfRow[heightPx] = runs.count;
  return runs;
}

function growRuns(runs: Runs): void {
  for (const key of ['start', 'end'] as const) {
    const grown = new Int32Array(runs[key].length * 2);
    grown.set(runs[key]);
    runs[key] = grown;
  }
}

/** Joins runs that touch runs of the row above, corners included (union by the smaller index, path halving). */
function joinRuns(runs: Runs): void {
  const { start, end, firstOfRow } = runs;
  const parent = new Int32Array(runs.count);
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
  runs.parent = parent;
}

function rootOf(parent: Int32Array, of: number): number {
  let i = of;
  while (parent[i] !== i) {
    parent[i] = parent[parent[i]];
    i = parent[i];
  }
  return i;
}

function shapesOf(runs: Runs, options: DarkShapeOptions): DarkShape[] {
  const { count, start, end, parent, firstOfRow } = runs;
  const minX = new Int32Array(count).fill(0x7fffffff);
  const maxX = new Int32Array(count);
  const minY = new Int32Array(count);
  const maxY = new Int32Array(count).fill(-1);
  const area = new Int32Array(count);
  for (let y = 0; y < runs.rows; y++) {
    for (let i = firstOfRow[y]; i < firstOfRow[y + 1]; i++) {
      const root = rootOf(parent, i);
      parent[i] = root;
      if (maxY[root] < 0) minY[root] = y;
      maxY[root] = y;
      if (start[i] < minX[root]) minX[root] = start[i];
      if (end[i] > maxX[root]) maxX[root] = end[i];
      area[root] += end[i] - start[i];
    }
  }
  const shapeOf = new Map<number, { top: number; left: Int32Array; right: Int32Array; areaPx2: number }>();
  for (let root = 0; root < count; root++) {
    if (parent[root] !== root) continue;
    const width = maxX[root] - minX[root];
    const height = maxY[root] - minY[root] + 1;
    if (Math.min(width, height) < options.leastBoxPx || Math.max(width, height) > options.mostBoxPx) continue;
    // The black border alone covers 7/16 of a tag; lying askew, a square fills half of its box.
    if (area[root] < 0.12 * width * height) continue;
    const left = new Int32Array(height).fill(0x7fffffff);
    shapeOf.set(root, { top: minY[root], left, right: new Int32Array(height).fill(-1), areaPx2: area[root] });
  }
  if (shapeOf.size === 0) return [];
  for (let y = 0; y < runs.rows; y++) {
    for (let i = firstOfRow[y]; i < firstOfRow[y + 1]; i++) {
      const root = parent[i];
      if (maxX[root] - minX[root] < options.leastBoxPx) continue;
      const shape = shapeOf.get(root);
      if (shape === undefined) continue;
      const row = y - shape.top;
      if (start[i] < shape.left[row]) shape.left[row] = start[i];
      if (end[i] - 1 > shape.right[row]) shape.right[row] = end[i] - 1;
    }
  }
  return [...shapeOf.values()];
}
