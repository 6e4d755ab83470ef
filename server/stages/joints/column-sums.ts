import { giveBack, sharedDoubles } from '../../images/spare-memory.js';
import type { RailStrip } from './rail-strips.js';

/**
 * Running sums of a strip's columns from its first row on, so that the mean of any rows is a difference; row by row,
 * with a row of zeros first. What lies outside the photo counts as 0 in them.
 */
export interface ColumnSums {
  readonly light: Float64Array;
  /** Of root brightness. */
  readonly root: Float64Array;
  /** Of the squares of root brightness. */
  readonly squares: Float64Array;
  /** Rows up to one of which a part lies outside the photo. */
  readonly blindRows: Int32Array;
}

const known = new WeakMap<RailStrip, ColumnSums>();

/** The sums of a strip; they are made once. */
export function columnSums(strip: RailStrip): ColumnSums {
  let sums = known.get(strip);
  if (!sums) {
    sums = sumUp(strip);
    known.set(strip, sums);
  }
  return sums;
}

/** Keeps the memory of a strip's sums; nobody may look at them any more. */
export function giveBackSums(strip: RailStrip): void {
  const sums = known.get(strip);
  if (!sums) return;
  for (const values of [sums.light, sums.root, sums.squares]) giveBack(values);
  known.delete(strip);
}

function sumUp({ rows, columns, data }: RailStrip): ColumnSums {
  const light = sharedDoubles((rows + 1) * columns);
  const root = sharedDoubles((rows + 1) * columns);
  const squares = sharedDoubles((rows + 1) * columns);
  for (const sums of [light, root, squares]) sums.fill(0, 0, columns);
  const blindRows = new Int32Array(rows + 1);
  for (let i = 0; i < rows; i++) {
    let blind = 0;
    for (let k = 0; k < columns; k++) {
      const at = i * columns + k;
      const next = at + columns;
      const value = data[at];
      const seen = !Number.isNaN(value);
      if (!seen) blind = 1;
      const r = seen ? Math.sqrt(Math.max(0, value)) : 0;
      light[next] = light[at] + (seen ? value : 0);
      root[next] = root[at] + r;
      squares[next] = squares[at] + r * r;
    }
    blindRows[i + 1] = blindRows[i] + blind;
  }
  return { light, root, squares, blindRows };
}
