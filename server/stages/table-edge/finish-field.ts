/**
 * What the finish is expected to look like at each place: light falls off across a table, lamps and windows make gloss.
 * Means of small cells, grown outwards from cells that are surely table top.
 */
export interface FinishField {
  readonly columns: number;
  readonly rows: number;
  /** Three features a cell, row by row; cells that show no finish carry what their surroundings let expect. */
  readonly mean: Float32Array;
  /** Spread of single pixels about it, 3 × 3. */
  readonly covariance: Float64Array;
}

const cellPx = 8;
/** Cells this near vouch for a cell: enough to step across a track. */
const reachCells = 3;
const rounds = 60;
/** From cell to cell light changes by less than across the whole table: this share of the spread allowed for there. */
const growthShare = 0.4;

interface Cells {
  readonly columns: number;
  readonly rows: number;
  readonly mean: Float32Array;
  readonly spread: Float32Array;
}

function cellsOf(look: Float32Array, widthPx: number, heightPx: number): Cells {
  const columns = Math.max(1, Math.floor(widthPx / cellPx));
  const rows = Math.max(1, Math.floor(heightPx / cellPx));
  const mean = new Float32Array(3 * columns * rows);
  const spread = new Float32Array(3 * columns * rows);
  const share = 1 / (cellPx * cellPx);
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++)
      for (let k = 0; k < 3; k++) {
        let sum = 0;
        let square = 0;
        for (let y = r * cellPx; y < (r + 1) * cellPx; y++)
          for (let x = c * cellPx; x < (c + 1) * cellPx; x++) {
            const v = look[3 * (y * widthPx + x) + k];
            sum += v;
            square += v * v;
          }
        const at = 3 * (r * columns + c) + k;
        mean[at] = sum * share;
        spread[at] = Math.max(0, square * share - (sum * share) ** 2);
      }
  return { columns, rows, mean, spread };
}

/** Mean of the accepted cells around a cell, near ones counting more; false when there is none. */
function vouched(cells: Cells, accepted: Uint8Array, column: number, row: number, out: Float64Array): boolean {
  out.fill(0);
  let weights = 0;
  for (let y = Math.max(0, row - reachCells); y <= Math.min(cells.rows - 1, row + reachCells); y++)
    for (let x = Math.max(0, column - reachCells); x <= Math.min(cells.columns - 1, column + reachCells); x++) {
      const at = y * cells.columns + x;
      if (!accepted[at] || (x === column && y === row)) continue;
      const weight = 1 / ((x - column) ** 2 + (y - row) ** 2);
      weights += weight;
      for (let k = 0; k < 3; k++) out[k] += weight * cells.mean[3 * at + k];
    }
  if (weights === 0) return false;
  for (let k = 0; k < 3; k++) out[k] /= weights;
  return true;
}

function median(values: number[]): number {
  values.sort((a, b) => a - b);
  return values.length ? values[values.length >> 1] : 0;
}

/**
 * Grows the field.
 * @param look three features a pixel, interleaved, row by row
 * @param bare indices of pixels that are surely table top
 * @param floor least standard deviation of each feature that is allowed for
 */
export function growField(
  look: Float32Array,
  widthPx: number,
  heightPx: number,
  bare: readonly number[],
  floor: readonly number[],
): FinishField {
  const cells = cellsOf(look, widthPx, heightPx);
  const { columns, rows } = cells;
  const hits = new Uint16Array(columns * rows);
  for (const i of bare) {
    const c = Math.min(columns - 1, Math.floor((i % widthPx) / cellPx));
    const r = Math.min(rows - 1, Math.floor(Math.floor(i / widthPx) / cellPx));
    hits[r * columns + c]++;
  }
  // A cell of bare finish is as even as most of them are; one with a rail or a shadow in it is not taken as a start.
  const starts = Array.from(hits.keys()).filter((i) => hits[i] > 0);
  const even = [0, 1, 2].map((k) => median(starts.map((i) => cells.spread[3 * i + k])) + (growthShare * floor[k]) ** 2);
  const [e0, e1, e2] = even.map((v) => 4 * v);
  const { spread } = cells;
  const isEven = (i: number): boolean => spread[3 * i] < e0 && spread[3 * i + 1] < e1 && spread[3 * i + 2] < e2;
  const accepted = new Uint8Array(columns * rows);
  for (const i of starts) if (isEven(i)) accepted[i] = 1;
  grow(cells, accepted, even, isEven);
  return { columns, rows, mean: filled(cells, accepted), covariance: spreadOf(cells, accepted, floor) };
}

function grow(cells: Cells, accepted: Uint8Array, even: readonly number[], isEven: (i: number) => boolean): void {
  const { columns, rows } = cells;
  const around = new Float64Array(3);
  // A cell is looked at again only when another that can vouch for it has come.
  let open = Uint8Array.from(accepted, (_, i) => (isEven(i) ? 1 : 0));
  for (let round = 0; round < rounds; round++) {
    const added: number[] = [];
    for (let i = 0; i < accepted.length; i++) {
      if (accepted[i] || !open[i]) continue;
      if (!vouched(cells, accepted, i % columns, Math.floor(i / columns), around)) continue;
      let square = 0;
      for (let k = 0; k < 3; k++) square += (cells.mean[3 * i + k] - around[k]) ** 2 / even[k];
      if (square < 6) added.push(i);
    }
    if (added.length === 0 || rows === 0) return;
    open = new Uint8Array(accepted.length);
    for (const i of added) {
      accepted[i] = 1;
      const row = Math.floor(i / columns);
      const column = i % columns;
      for (let y = Math.max(0, row - reachCells); y <= Math.min(rows - 1, row + reachCells); y++)
        for (let x = Math.max(0, column - reachCells); x <= Math.min(columns - 1, column + reachCells); x++)
          if (isEven(y * columns + x)) open[y * columns + x] = 1;
    }
  }
}

/** Cell means where accepted; elsewhere spread from the accepted ones, ring by ring. */
function filled(cells: Cells, accepted: Uint8Array): Float32Array {
  const { columns } = cells;
  const mean = Float32Array.from(cells.mean);
  const known = Uint8Array.from(accepted);
  const work: Cells = { ...cells, mean };
  const around = new Float64Array(3);
  for (;;) {
    const added: { at: number; mean: number[] }[] = [];
    for (let i = 0; i < known.length; i++)
      if (!known[i] && vouched(work, known, i % columns, Math.floor(i / columns), around))
        added.push({ at: i, mean: Array.from(around) });
    if (added.length === 0) return smoothedCells(mean, cells.columns, cells.rows);
    for (const a of added) {
      known[a.at] = 1;
      mean.set(a.mean, 3 * a.at);
    }
  }
}

/** Mean of 3 × 3 cells: a cell's own texture is not light. */
function smoothedCells(mean: Float32Array, columns: number, rows: number): Float32Array {
  const out = new Float32Array(mean.length);
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++)
      for (let k = 0; k < 3; k++) {
        let sum = 0;
        let n = 0;
        for (let y = Math.max(0, r - 1); y <= Math.min(rows - 1, r + 1); y++)
          for (let x = Math.max(0, c - 1); x <= Math.min(columns - 1, c + 1); x++, n++)
            sum += mean[3 * (y * columns + x) + k];
        out[3 * (r * columns + c) + k] = sum / n;
      }
  return out;
}

function spreadOf(cells: Cells, accepted: Uint8Array, floor: readonly number[]): Float64Array {
  const covariance = new Float64Array(9);
  for (let k = 0; k < 3; k++) {
    const spread: number[] = [];
    for (let i = 0; i < accepted.length; i++) if (accepted[i]) spread.push(cells.spread[3 * i + k]);
    covariance[4 * k] = 1.5 * median(spread) + floor[k] ** 2;
  }
  return covariance;
}

/** The expected features along a row of pixels, at the middles of the columns of cells. */
export function expectedInRow({ columns, rows, mean }: FinishField, y: number): Float32Array {
  const v = Math.min(Math.max((y + 0.5) / cellPx - 0.5, 0), rows - 1);
  const r = Math.min(Math.floor(v), Math.max(0, rows - 2));
  const part = rows > 1 ? v - r : 0;
  const upper = 3 * r * columns;
  const lower = rows > 1 ? upper + 3 * columns : upper;
  const row = new Float32Array(3 * columns);
  for (let i = 0; i < row.length; i++) row[i] = (1 - part) * mean[upper + i] + part * mean[lower + i];
  return row;
}

/** The expected features at a pixel of such a row, linear between the middles of cells. */
export function lookInRow(row: Float32Array, x: number, out: Float64Array): void {
  const columns = row.length / 3;
  const u = Math.min(Math.max((x + 0.5) / cellPx - 0.5, 0), columns - 1);
  const c = Math.min(u | 0, Math.max(0, columns - 2));
  const part = columns > 1 ? u - c : 0;
  const at = 3 * c;
  const next = columns > 1 ? at + 3 : at;
  out[0] = row[at] + part * (row[next] - row[at]);
  out[1] = row[at + 1] + part * (row[next + 1] - row[at + 1]);
  out[2] = row[at + 2] + part * (row[next + 2] - row[at + 2]);
}

/** The same at a single pixel, bilinear between the middles of cells. */
export function expectedLook(field: FinishField, x: number, y: number, out: Float64Array): void {
  const u = Math.min(Math.max((x + 0.5) / cellPx - 0.5, 0), field.columns - 1);
  const v = Math.min(Math.max((y + 0.5) / cellPx - 0.5, 0), field.rows - 1);
  const c = Math.min(Math.floor(u), Math.max(0, field.columns - 2));
  const r = Math.min(Math.floor(v), Math.max(0, field.rows - 2));
  const fu = field.columns > 1 ? u - c : 0;
  const fv = field.rows > 1 ? v - r : 0;
  const right = field.columns > 1 ? 3 : 0;
  const below = field.rows > 1 ? 3 * field.columns : 0;
  const at = 3 * (r * field.columns + c);
  for (let k = 0; k < 3; k++) {
    const top = (1 - fu) * field.mean[at + k] + fu * field.mean[at + right + k];
    const bottom = (1 - fu) * field.mean[at + below + k] + fu * field.mean[at + below + right + k];
    out[k] = (1 - fv) * top + fv * bottom;
  }
}
