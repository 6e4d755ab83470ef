import type { Raster } from '../../images/raster.js';
import { type DarkRuns, darkRuns, type TileContrast } from './tile-contrast.js';

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
  const runs = darkRuns(grey, tiles, options.leastContrast, options.fraction);
  return shapesOf(runs, joinRuns(runs), options);
}

/**
 * Joins runs that touch runs of the row above, corners included (union by the smaller index, path halving).
 * @returns for each run one that it is joined to; itself for the first of a patch
 */
function joinRuns({ rows, count, spans, firstOfRow }: DarkRuns): Int32Array {
  const parent = new Int32Array(count);
  for (let i = 0; i < count; i++) parent[i] = i;
  for (let y = 1; y < rows; y++) {
    let above = firstOfRow[y - 1];
    const aboveEnd = firstOfRow[y];
    for (let i = firstOfRow[y]; i < firstOfRow[y + 1]; i++) {
      const start = spans[2 * i];
      const end = spans[2 * i + 1];
      while (above < aboveEnd && spans[2 * above + 1] < start) above++;
      for (let k = above; k < aboveEnd && spans[2 * k] <= end; k++) {
        const a = rootOf(parent, i);
        const b = rootOf(parent, k);
        if (a < b) parent[b] = a;
        else parent[a] = b;
      }
    }
  }
  return parent;
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

function shapesOf(runs: DarkRuns, parent: Int32Array, options: DarkShapeOptions): DarkShape[] {
  const { spans, firstOfRow } = runs;
  // A root comes before all others of its patch, so patches are numbered in one pass.
  const patchOf = new Int32Array(runs.count);
  let patches = 0;
  for (let i = 0; i < runs.count; i++) patchOf[i] = parent[i] === i ? patches++ : patchOf[rootOf(parent, i)];
  const box = new Int32Array(patches * BOX);
  for (let y = 0; y < runs.rows; y++) {
    for (let i = firstOfRow[y]; i < firstOfRow[y + 1]; i++) {
      const at = patchOf[i] * BOX;
      const start = spans[2 * i];
      const end = spans[2 * i + 1];
      if (box[at + 4] === 0) {
        box[at] = start;
        box[at + 1] = end;
        box[at + 2] = y;
      } else {
        if (start < box[at]) box[at] = start;
        if (end > box[at + 1]) box[at + 1] = end;
      }
      box[at + 3] = y;
      box[at + 4] += end - start;
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

function fillRows(runs: DarkRuns, patchOf: Int32Array, shapeOf: Int32Array, shapes: readonly DarkShape[]): void {
  const { spans, firstOfRow } = runs;
  for (let y = 0; y < runs.rows; y++) {
    for (let i = firstOfRow[y]; i < firstOfRow[y + 1]; i++) {
      const number = shapeOf[patchOf[i]];
      if (number === 0) continue;
      const { top, left, right } = shapes[number - 1];
      if (spans[2 * i] < left[y - top]) left[y - top] = spans[2 * i];
      if (spans[2 * i + 1] - 1 > right[y - top]) right[y - top] = spans[2 * i + 1] - 1;
    }
  }
}
