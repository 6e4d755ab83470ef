import { type ColumnSums, columnSums } from './column-sums.js';
import type { PartShape, RailPart } from './rail-parts.js';
import type { RailStrip } from './rail-strips.js';

/** How heads and flanges are unrolled for their ends to be looked for. */
export const endShape: PartShape = { stepMm: 0.5, acrossStepMm: 0.3, headShare: 0.95, rimMm: 0.3 };

/** Fewer columns than this of a flange tell nothing. */
const fewColumns = 3;

/** Where the rails of one section end, along their strips, in millimetres from the first row. */
export interface SectionEnd {
  /** On the centre line. */
  readonly at: number;
  readonly uMm: number;
  /** Each rail's own end; null where it could not be told. */
  readonly rails: readonly (number | null)[];
  /** How clear the end is: 1 when every part of every rail changes there from rail to something quite different. */
  readonly clearness: number;
}

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

/** True for an end that looks towards the eye. */
function faces(view: RailPart, at: number, towards: 1 | -1): boolean {
  return towards * view.slopesAt(Math.round(at / view.strip.stepMm)).along > facingSlope;
}

const facingSlope = 0.06;

/** A change of this much is plain; a greater one does not count for more, lest one glaring part outvote the others. */
const plainChange = 0.5;

/** The tip of a flange may lie in the light that the head keeps from the rest of it: that speaks little against an end. */
const leastVoice = 0;

/** A change this many times the rail's own scatter is as clear as can be. */
const clearChange = 3;

/** Scatter below which no rail's own is taken, root brightness. */
const leastScatter = 0.03;

/** Rail ends of one section stand this close to square, millimetres along the track. */
const squareMm = 1.2;

/** How far the ends of one section's rails are read apart, about, millimetres. */
const usualScatterMm = 0.5;

/**
 * Finds the end that the rails of one section have in common: the place at which heads and flanges of all rails together
 * change most from what rails look like to what does not. A pin that reaches on changes only part of the head, and
 * not the flange. Then each rail's end to a fraction of a pixel.
 * @param roughMm where the rails seem to end
 * @param towards +1 when the rails end in the direction of growing s
 * @param beyondMm how much of the gap there is to look at
 * @param reachMm how far back towards the rail the end may lie
 * @param aheadMm how far on into the gap it may lie
 */
export function findSectionEnd(
  views: readonly RailPart[],
  roughMm: number,
  towards: 1 | -1,
  beyondMm: number,
  reachMm: number,
  aheadMm: number = Math.min(reachMm, beyondMm),
): SectionEnd | null {
  const step = views[0].strip.stepMm;
  const count = Math.floor((reachMm + aheadMm) / step) + 1;
  let best = { at: Number.NaN, clearness: 0 };
  for (let i = 0; i < count; i++) {
    const at = roughMm + towards * (i * step - reachMm);
    const clearness = endClearness(views, at, towards, beyondMm);
    if (clearness > best.clearness) best = { at, clearness };
  }
  if (Number.isNaN(best.at)) return null;
  return refined(views, fartherOut(views, best, towards, beyondMm), towards, beyondMm);
}

/** The tip of a rail may look otherwise than the rest, as where light comes in from the open end, by this much of it. */
const longestTipMm = 9;
const shortestTipMm = 2.5;

/** The end of such a tip is not much less clear than where the tip begins. */
const tipClearness = 0.7;

/** Share of heads and of flanges, each, that must go on in a tip: a pin goes on too, but it is narrow and has no flange. */
const tipShare = 0.6;

/** The end of the tip, where the end found is only where the tip begins. */
function fartherOut(
  views: readonly RailPart[],
  found: { at: number; clearness: number },
  towards: 1 | -1,
  beyondMm: number,
): { at: number; clearness: number } {
  // Of an end that faces the eye its upright face is seen beyond it.
  if (faces(views[0], found.at, towards)) return found;
  const step = views[0].strip.stepMm;
  let best = { at: found.at, clearness: 0 };
  for (let d = shortestTipMm; d <= Math.min(longestTipMm, 0.5 * beyondMm); d += step) {
    const at = found.at + towards * d;
    const clearness = endClearness(views, at, towards, beyondMm);
    if (clearness > best.clearness) best = { at, clearness };
  }
  if (best.clearness < tipClearness * found.clearness) return found;
  const goesOn = (part: RailPart['part']): boolean => {
    const own = views.filter((v) => v.part === part);
    return own.length === 0 || unlikeBeyond(own, found.at, best.at, towards) > tipShare;
  };
  return goesOn('head') && goesOn('flange') ? best : found;
}

/** Share of the columns between two places along the rails that look unlike what is beyond the second. */
function unlikeBeyond(views: readonly RailPart[], from: number, to: number, towards: 1 | -1): number {
  let unlike = 0;
  let count = 0;
  for (const view of views) {
    const { strip } = view;
    const sums = columnSums(strip);
    const tip = rowsBetween(strip, sums, from + towards * 0.8, to - towards * 0.8, 2);
    const beyond = rowsBetween(strip, sums, to + towards * 1.2, to + towards * 5, 3);
    if (!tip || !beyond) continue;
    for (const k of view.columnsAt(Math.round(to / strip.stepMm))) {
      count++;
      if (Math.abs(rootLight(strip, sums, k, tip) - rootLight(strip, sums, k, beyond)) > unlikeRoot) unlike++;
    }
  }
  return count > 0 ? unlike / count : 0;
}

/** Root brightness that differs by more than grain and shade within a surface. */
const unlikeRoot = 0.1;

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
function rowsBetween(strip: RailStrip, sums: ColumnSums, a: number, b: number, atLeast: number): Rows | null {
  const first = Math.round(a / strip.stepMm);
  const last = Math.round(b / strip.stepMm);
  const from = Math.max(0, Math.min(first, last));
  const to = Math.min(strip.rows - 1, Math.max(first, last));
  if (to - from + 1 < atLeast || sums.blindRows[to + 1] > sums.blindRows[from]) return null;
  return { from, to };
}

/** Mean of a column over rows. */
function meanOf(sums: Float64Array, columns: number, k: number, { from, to }: Rows): number {
  return (sums[(to + 1) * columns + k] - sums[from * columns + k]) / (to - from + 1);
}

/**
 * How much more unlike the rail the rows beyond a place are than those before it: −1…1. Next to the end the hollow of the
 * tube shows, farther on pins and table: both are looked at.
 */
function changeAt(view: RailPart, at: number, towards: 1 | -1, beyondMm: number): number {
  const { strip } = view;
  const sums = columnSums(strip);
  const columns = view.columnsAt(Math.round(at / strip.stepMm));
  const enough = leastOwnMm / strip.stepMm;
  const look = rowsBetween(strip, sums, at - towards * ownFromMm, at - towards * ownToMm, enough);
  if (columns.length < fewColumns || !look) return 0;
  const windows: { before: Rows; after: Rows }[] = [];
  for (const windowMm of changeWindowsMm) {
    const width = Math.min(windowMm, 0.5 * beyondMm);
    const before = rowsBetween(strip, sums, at - towards * width, at - towards * 0.3, 2);
    const after = rowsBetween(strip, sums, at + towards * 0.3, at + towards * width, 2);
    if (!before || !after) return 0;
    windows.push({ before, after });
  }
  let sum = 0;
  const first = look.from * strip.columns;
  const last = (look.to + 1) * strip.columns;
  const share = 1 / (look.to - look.from + 1);
  for (let c = 0; c < columns.length; c++) {
    const k = columns[c];
    const mean = share * (sums.root[last + k] - sums.root[first + k]);
    const variance = Math.max(0, share * (sums.squares[last + k] - sums.squares[first + k]) - mean * mean);
    const full = clearChange * Math.max(leastScatter, Math.sqrt(variance));
    let change = 0;
    for (let w = 0; w < windows.length; w++) {
      const own = Math.abs(rootLight(strip, sums, k, windows[w].before) - mean);
      const other = Math.abs(rootLight(strip, sums, k, windows[w].after) - mean);
      change += Math.min(full, other) - Math.min(full, own);
    }
    sum += change / full;
  }
  return sum / (columns.length * changeWindowsMm.length);
}

function rootLight(strip: RailStrip, sums: ColumnSums, k: number, rows: Rows): number {
  return Math.sqrt(Math.max(0, meanOf(sums.light, strip.columns, k, rows)));
}

function refined(
  views: readonly RailPart[],
  rough: { at: number; clearness: number },
  towards: 1 | -1,
  beyondMm: number,
): SectionEnd | null {
  const candidates = views.map((view) => crossingsNear(view, rough.at, towards, beyondMm));
  const found = sideBySide(candidates, rough.at);
  if (found.length < 2) return null;
  const line = lineThrough(found);
  const railCount = Math.max(...views.map((v) => v.rail)) + 1;
  const rails = Array.from({ length: railCount }, (_, r) => {
    const own = found.filter(
      (f) => f.rail === r && Math.abs(f.at - line.at - line.slope * f.across) < 2.5 * line.scatter,
    );
    const weight = own.reduce((sum, f) => sum + f.weight, 0);
    return weight > 0 ? own.reduce((sum, f) => sum + f.weight * f.at, 0) / weight : null;
  });
  return { at: line.at, uMm: line.uMm, rails, clearness: rough.clearness };
}

interface Crossing {
  readonly rail: number;
  readonly across: number;
  readonly at: number;
  readonly weight: number;
}

/** Where the search for one rail's end starts, against the end that all have in common. */
const startsMm = [0, -1.5, 1.5, -3, 3];

function crossingsNear(view: RailPart, near: number, towards: 1 | -1, beyondMm: number): Crossing[] {
  const out: Crossing[] = [];
  for (const [start, window] of startsMm.flatMap((m) => beyondWindowsMm.map((w) => [m, w] as const))) {
    const end = settle(view, near + start, towards, beyondMm, window);
    if (end === null || Math.abs(end - near) > 4 || out.some((o) => Math.abs(o.at - end) < 0.3)) continue;
    const weight = weightOf(view, near) * Math.max(0, changeAt(view, end, towards, beyondMm));
    out.push({ rail: view.rail, across: view.acrossMm, at: end, weight });
  }
  return out;
}

/** The crossings, one a rail, that lie side by side with the most weight. */
function sideBySide(candidates: readonly (readonly Crossing[])[], near: number): Crossing[] {
  let best: { ends: Crossing[]; merit: number } = { ends: [], merit: 0 };
  for (const seed of candidates.flat()) {
    const meritOf = (c: Crossing): number => c.weight / (1 + ((c.at - seed.at) / usualScatterMm) ** 2);
    const ends = candidates.flatMap((own) => {
      const beside = own.filter((c) => Math.abs(c.at - seed.at) <= squareMm);
      return beside.length === 0 ? [] : [beside.reduce((a, b) => (meritOf(b) > meritOf(a) ? b : a))];
    });
    const merit = ends.reduce((sum, e) => sum + meritOf(e) - 0.01 * Math.abs(e.at - near), 0);
    if (merit > best.merit) best = { ends, merit };
  }
  return best.ends;
}

/** Least scatter of the ends about a straight across the track: what the model of an end leaves out, millimetres. */
const leastEndScatterMm = 0.12;

/** What all ends of a section may be read too long or too short alike: of 71 drawn gaps 94 % are then within 95 % intervals. */
const endUMm = 0.16;

/** Sections are cut square: this much slope across the track is usual (half a degree), from memory of loose track. */
const usualSkew = 0.01;

/** Weighted straight line through the ends over their sideways places; outliers count less (Cauchy weights). */
function lineThrough(found: readonly { across: number; at: number; weight: number }[]): {
  at: number;
  slope: number;
  scatter: number;
  uMm: number;
} {
  let at = weightedMedian(found);
  let slope = 0;
  let scatter = 0.5;
  let sum = 0;
  for (let pass = 0; pass < 8; pass++) {
    // A weak prior holds the end square where only one side of the track shows it.
    let [sw, sx, sxx, sy, sxy] = [0, 0, (leastEndScatterMm / usualSkew) ** 2, 0, 0];
    for (const f of found) {
      const r = f.at - at - slope * f.across;
      const w = f.weight / (1 + (r / (1.5 * scatter)) ** 2);
      sw += w;
      sx += w * f.across;
      sxx += w * f.across ** 2;
      sy += w * f.at;
      sxy += w * f.across * f.at;
    }
    const d = sw * sxx - sx * sx;
    at = (sxx * sy - sx * sxy) / d;
    slope = (sw * sxy - sx * sy) / d;
    sum = sw;
    scatter = Math.max(
      leastEndScatterMm,
      1.4826 * weightedMedian(found.map((f) => ({ at: Math.abs(f.at - at - slope * f.across), weight: f.weight }))),
    );
  }
  return { at, slope, scatter, uMm: Math.hypot(scatter / Math.sqrt(Math.max(0.5, sum)), endUMm) };
}

function weightedMedian(found: readonly { at: number; weight: number }[]): number {
  const inOrder = [...found].sort((a, b) => a.at - b.at);
  let left = found.reduce((sum, f) => sum + f.weight, 0) / 2;
  for (const f of inOrder) {
    left -= f.weight;
    if (left <= 0) return f.at;
  }
  return inOrder[inOrder.length - 1].at;
}

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
