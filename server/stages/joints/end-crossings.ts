import { columnSums } from './column-sums.js';
import { changeAt, facingSlope, fewColumns, meanOf, rowsBetween } from './end-clearness.js';
import type { RailPart } from './rail-parts.js';
import type { RailStrip } from './rail-strips.js';

/** A place where one part of one rail seems to end, millimetres from the strips' first row. */
export interface Crossing {
  readonly rail: number;
  readonly across: number;
  readonly at: number;
  readonly weight: number;
}

/** Where the search for one rail's end starts, against the end that all have in common. */
const startsMm = [0, -1.5, 1.5, -3, 3];

/** Where a part may end near a place, to a fraction of a pixel. */
export function crossingsNear(view: RailPart, near: number, towards: 1 | -1, beyondMm: number): Crossing[] {
  const out: Crossing[] = [];
  for (const [start, window] of startsMm.flatMap((m) => beyondWindowsMm.map((w) => [m, w] as const))) {
    const end = settle(view, near + start, towards, beyondMm, window);
    if (end === null || Math.abs(end - near) > 4 || out.some((o) => Math.abs(o.at - end) < 0.3)) continue;
    const weight = weightOf(view, near) * Math.max(0, changeAt(view, end, towards, beyondMm));
    out.push({ rail: view.rail, across: view.acrossMm, at: end, weight });
  }
  return out;
}

/**
 * Weight of a part's own end among the others, by how much they scatter about true ends of drawn track: light that comes in
 * from the open end lies on the tip of a flange, and the end then seems to be where the shade of the head begins.
 */
function weightOf(view: RailPart, at: number): number {
  if (view.part === 'head') return 1;
  const slope = Math.abs(view.slopesAt(Math.round(at / view.strip.stepMm)).along);
  return slope > facingSlope ? slantFlangeWeight : flatFlangeWeight;
}

const slantFlangeWeight = 0.2;
const flatFlangeWeight = 0.4;

/**
 * Rows beyond an end that it is told from: those next to it, where the hollow of the tube may show as a dark rim, and those
 * farther on, where the table is.
 */
const beyondWindowsMm = [
  [0.6, 1.8],
  [1.5, 4.5],
] as const;

/** Changes of brightness beyond this, linear light, count alike: a glaring crest that a pin carries on is one column of many. */
const enoughChange = 0.06;

function settle(
  view: RailPart,
  startMm: number,
  towards: 1 | -1,
  beyondMm: number,
  window: readonly [number, number],
): number | null {
  const { strip } = view;
  const columns = view.columnsAt(Math.round(startMm / strip.stepMm));
  if (columns.length < fewColumns) return null;
  const startRow = Math.round(startMm / strip.stepMm);
  const shifts = columns.map((k) => view.shiftMmAt(startRow, k) / strip.stepMm);
  let at = startMm;
  for (let pass = 0; pass < 4; pass++) {
    const rail = meanLights(strip, columns, shifts, at - towards * 9, at - towards * 1.2);
    const beyond = meanLights(
      strip,
      columns,
      shifts,
      at + towards * Math.min(window[0], 0.25 * beyondMm),
      at + towards * Math.min(window[1], 0.6 * beyondMm),
    );
    if (!rail || !beyond) return null;
    const next = halfCrossing(strip, columns, shifts, rail, beyond, at, towards);
    if (next === null) return null;
    const moved = Math.abs(next - at);
    at = next;
    if (moved < 0.02) break;
  }
  return at;
}

/**
 * Mean light of each of some columns between two places, all at the same distance from where it shows a square end.
 * @param shifts how far along a column shows it, rows
 */
function meanLights(
  strip: RailStrip,
  columns: readonly number[],
  shifts: readonly number[],
  a: number,
  b: number,
): number[] | null {
  const sums = columnSums(strip);
  const rows = rowsBetween(strip, sums, a, b, 2);
  if (!rows) return null;
  return columns.map((k, c) => {
    const shift = Math.max(-rows.from, Math.min(strip.rows - 1 - rows.to, Math.round(shifts[c])));
    return Math.max(0, meanOf(sums.light, strip.columns, k, { from: rows.from + shift, to: rows.to + shift }));
  });
}

/** Where the columns' share of the rail's look falls through one half; each column counts by how much it changes. */
function halfCrossing(
  strip: RailStrip,
  columns: readonly number[],
  shifts: readonly number[],
  rail: readonly number[],
  beyond: readonly number[],
  near: number,
  towards: 1 | -1,
): number | null {
  const weights = columns.map((_, c) => Math.min(enoughChange, Math.abs(rail[c] - beyond[c])));
  const total = weights.reduce((a, b) => a + b, 0);
  if (total < 0.1 * enoughChange * columns.length) return null;
  const reach = Math.round(2.5 / strip.stepMm);
  const nearRow = Math.round(near / strip.stepMm);
  // Of every row that is looked at, once.
  const first = Math.max(0, nearRow - reach - 1);
  const last = Math.min(strip.rows - 1, nearRow + reach + 1);
  const shares = new Float64Array(Math.max(0, last - first + 1));
  for (let i = first; i <= last; i++) {
    let sum = 0;
    for (let c = 0; c < columns.length; c++) {
      const k = columns[c];
      const own = (lightBetween(strip, i + shifts[c], k) - beyond[c]) / (rail[c] - beyond[c] || 1e-9);
      sum += weights[c] * Math.max(-0.5, Math.min(1.5, own));
    }
    shares[i - first] = sum / total;
  }
  const smooth = (i: number): number => (shares[i - first - 1] + 2 * shares[i - first] + shares[i - first + 1]) / 4;
  let best: number | null = null;
  for (let d = -reach; d < reach; d++) {
    const i = nearRow + towards * d;
    const j = i + towards;
    if (i < 1 || j < 1 || i >= strip.rows - 1 || j >= strip.rows - 1) continue;
    const a = smooth(i);
    const b = smooth(j);
    if (a >= 0.5 && b < 0.5) {
      const place = (i + towards * ((a - 0.5) / (a - b))) * strip.stepMm;
      if (best === null || Math.abs(place - near) < Math.abs(best - near)) best = place;
    }
  }
  return best;
}

/** A column's brightness between two rows. */
function lightBetween({ data, rows, columns }: RailStrip, row: number, k: number): number {
  const q = Math.max(0, Math.min(rows - 1.001, row));
  const i = Math.floor(q);
  const a = data[i * columns + k];
  return a + (q - i) * (data[(i + 1) * columns + k] - a);
}
