import { type ColumnSums, columnSums } from './column-sums.js';
import type { RailPart } from './rail-parts.js';
import type { RailStrip } from './rail-strips.js';

/** Fewer columns than this of a flange tell nothing. */
export const fewColumns = 3;

/** Rows looked at on each side of a supposed end. */
const changeWindowsMm = [1.5, 4];

/**
 * Voice of a part among the others. Of a flange whose end faces the eye the upright end face is seen too, and where it stops
 * depends on light and shade; of one that faces away only its own edge.
 */
function voiceOf(view: RailPart, at: number, towards: 1 | -1): number {
  if (view.part === 'head') return 1;
  return faces(view, at, towards) ? 0.25 : 0.7;
}

/** True for an end that looks towards the eye. */
export function faces(view: RailPart, at: number, towards: 1 | -1): boolean {
  return towards * view.slopesAt(Math.round(at / view.strip.stepMm)).along > facingSlope;
}

export const facingSlope = 0.06;

/** A change of this much is plain; a greater one does not count for more, lest one glaring part outvote the others. */
const plainChange = 0.5;

/** The tip of a flange may lie in the light that the head keeps from the rest of it: that speaks little against an end. */
const leastVoice = 0;

/** A change this many times the rail's own scatter is as clear as can be. */
const clearChange = 3;

/** Scatter below which no rail's own is taken, root brightness. */
const leastScatter = 0.03;

/** How clearly all rails end at a place: 1 when every part of every rail changes there from rail to something else. */
export function endClearness(views: readonly RailPart[], at: number, towards: 1 | -1, beyondMm: number): number {
  let sum = 0;
  let voices = 0;
  for (const view of views) {
    const voice = voiceOf(view, at, towards);
    voices += voice;
    sum += voice * Math.max(leastVoice, Math.min(1, changeAt(view, at, towards, beyondMm) / plainChange));
  }
  return sum / voices;
}

/** Rows before a supposed end that tell what the rail looks like: rust and light change along it. */
const ownFromMm = 0.8;
const ownToMm = 22;
const leastOwnMm = 8;

/** Rows of a strip from one up to and with another. */
interface Rows {
  readonly from: number;
  readonly to: number;
}

/** The rows between two places; null when there are too few of them, or when a part of them lies outside the photo. */
export function rowsBetween(strip: RailStrip, sums: ColumnSums, a: number, b: number, atLeast: number): Rows | null {
  return putRows(between, 0, strip, sums, a, b, atLeast) ? { from: between[0], to: between[1] } : null;
}

const between = new Int32Array(2);

/** Puts the first and the last row between two places into `out` from `at` on; false where `rowsBetween` is null. */
function putRows(
  out: Int32Array,
  at: number,
  strip: RailStrip,
  sums: ColumnSums,
  a: number,
  b: number,
  atLeast: number,
): boolean {
  const first = Math.round(a / strip.stepMm);
  const last = Math.round(b / strip.stepMm);
  out[at] = Math.max(0, Math.min(first, last));
  out[at + 1] = Math.min(strip.rows - 1, Math.max(first, last));
  const from = out[at];
  const to = out[at + 1];
  return to - from + 1 >= atLeast && sums.blindRows[to + 1] <= sums.blindRows[from];
}

/** Mean of a column over rows. */
export function meanOf(sums: Float64Array, columns: number, k: number, { from, to }: Rows): number {
  return meanBetween(sums, columns, k, from, to);
}

function meanBetween(sums: Float64Array, columns: number, k: number, from: number, to: number): number {
  return (sums[(to + 1) * columns + k] - sums[from * columns + k]) / (to - from + 1);
}

/** First and last row of what a change is told from: the rail itself, then before and after a place in each window. */
const looked = new Int32Array(2 + 4 * changeWindowsMm.length);

/**
 * How much more unlike the rail the rows beyond a place are than those before it: −1…1. Next to the end the hollow of the
 * tube shows, farther on pins and table: both are looked at.
 */
export function changeAt(view: RailPart, at: number, towards: 1 | -1, beyondMm: number): number {
  const { strip } = view;
  const sums = columnSums(strip);
  const columns = view.columnsAt(Math.round(at / strip.stepMm));
  const enough = leastOwnMm / strip.stepMm;
  if (columns.length < fewColumns) return 0;
  if (!putRows(looked, 0, strip, sums, at - towards * ownFromMm, at - towards * ownToMm, enough)) return 0;
  for (let w = 0; w < changeWindowsMm.length; w++) {
    const width = Math.min(changeWindowsMm[w], 0.5 * beyondMm);
    if (!putRows(looked, 2 + 4 * w, strip, sums, at - towards * width, at - towards * 0.3, 2)) return 0;
    if (!putRows(looked, 4 + 4 * w, strip, sums, at + towards * 0.3, at + towards * width, 2)) return 0;
  }
  return summedChange(sums, strip.columns, columns) / (columns.length * changeWindowsMm.length);
}

/** The changes of all columns in all windows, summed: numbers alone, as this is done a hundred thousand times. */
function summedChange({ light, root, squares }: ColumnSums, width: number, columns: readonly number[]): number {
  let sum = 0;
  const rows = looked[1] - looked[0] + 1;
  const first = looked[0] * width;
  const last = (looked[1] + 1) * width;
  const share = 1 / rows;
  for (let c = 0; c < columns.length; c++) {
    const k = columns[c];
    const mean = share * (root[last + k] - root[first + k]);
    const variance = Math.max(0, share * (squares[last + k] - squares[first + k]) - mean * mean);
    const full = clearChange * Math.max(leastScatter, Math.sqrt(variance));
    let change = 0;
    for (let w = 2; w < looked.length; w += 4) {
      const own = Math.abs(rootOfMean(light, width, k, looked[w], looked[w + 1]) - mean);
      const other = Math.abs(rootOfMean(light, width, k, looked[w + 2], looked[w + 3]) - mean);
      change += Math.min(full, other) - Math.min(full, own);
    }
    sum += change / full;
  }
  return sum;
}

function rootOfMean(light: Float64Array, width: number, k: number, from: number, to: number): number {
  return Math.sqrt(Math.max(0, meanBetween(light, width, k, from, to)));
}

export function rootLight(strip: RailStrip, sums: ColumnSums, k: number, rows: Rows): number {
  return Math.sqrt(Math.max(0, meanOf(sums.light, strip.columns, k, rows)));
}
