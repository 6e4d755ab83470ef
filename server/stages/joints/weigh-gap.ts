import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { endClearness } from './end-clearness.js';
import { findSectionEnd, type SectionEnd } from './rail-end.js';
import type { RailPart } from './rail-parts.js';
import { tableInGap } from './table-in-gap.js';
import { type GapInTrail, gapInTrail, stepInTrail } from './table-spans.js';
import type { TableTrail } from './table-trail.js';

/** An end of a stretch without rails is none when it is less clear than this, … */
export const leastClearness = 0.22;

/** … and one that is looked for all along a run when it is less clear than this. */
export const pairClearness = 0.5;

/**
 * Where flanges are known they may not show through a gap more plainly than this; where they seem to, its ends must be
 * the clearer: rust on all rails at one place changes them too.
 */
const leastWithin = -0.5;
const clearnessByFlanges = 0.3;

/**
 * Where flanges and table look too much alike for it to be told which of them shows, one end must be as clear as can be, or
 * else table and heads' ends plain: so it is with those of 230 drawn gaps that show so vaguely, and not with two false ones.
 */
const vagueTrail = { within: 0.6, clearEnd: 0.9, table: 0.9, heads: 0.45 };

/**
 * Where the table shows this plainly, more than beside the gap, heads that end so clearly are enough, or all parts
 * together: less clearly over more than a tie hides, as rust and a tie at a gap's ends leave little of the rails to go by.
 */
const plainWithin = 1;
const plainStep = 1;
const headsClearness = 0.7;
const tieMm = 16;
const shownTable = { overTie: 0.75, shorter: 0.85 };
const bothClearness = { overTie: 0.6, shorter: 0.9 };
const eachClearness = { overTie: 0.15, shorter: 0.3 };
/**
 * Where one end is as clear as can be and the table shows so much more plainly than beside the gap, the other may be this vague:
 * the heads, rusty there, may hardly change.
 */
const oneEnd = { clearness: 0.9, other: 0.4, step: 2.5, table: 0.6 };
/** Where the heads hardly change nothing ends: a flange in the sun, or a cover's edge, passes for table. */
const leastHeads = { overTie: 0, shorter: 0.2 };

/** Heads that end less clearly than this do not make up for table that does not show. */
const vagueHeads = 0.5;

/** A long gap looks much like covered track: its ends must be clearer. */
export const longGapMm = 90;
const longGapClearness = 0.5;

/** Share of an open gap's places that must look like table; less where both ends are plain, as pins fill a short gap. */
export const leastTable = 0.7;
const plainTable = 0.4;
const plainClearness = 0.8;

/** Where nothing but two ends speaks for a gap, and these are not clear, what lies between must be table for sure. */
const fairClearness = 0.62;
const sureTable = 0.9;
const spanTable = 0.85;

/** One run in one photo with its rails unrolled. */
export interface UnrolledRun {
  readonly run: RunInPhoto;
  readonly trail: TableTrail | null;
  /** Place on the line of the strips' first row. */
  readonly startS: number;
  readonly parts: readonly RailPart[];
}

/** How much of the line was unrolled, millimetres. */
export function unrolledMm({ parts: [{ strip }] }: UnrolledRun): number {
  return (strip.rows - 1) * strip.stepMm;
}

/** Two ends that face each other, along their strips. */
export interface OpenGap {
  readonly before: SectionEnd;
  readonly after: SectionEnd;
  /** Of gaps that overlap the one with the most is one. */
  readonly merit: number;
}

/** How far the ends of a gap may lie from where they are looked for, millimetres: back along the rails, and into the gap. */
export interface GapReach {
  readonly beforeMm: number;
  readonly afterMm: number;
  readonly intoMm: number;
}

/** Track between two gaps is no shorter than this. */
const leastTrackMm = 15;

/**
 * A pin's tip ends too: of gaps that share an end the one through which the more table shows is the gap, or, where that is
 * not known, the longer if it is nearly as clear.
 */
function meritOf(clearness: number, heads: number, gapMm: number, shown: GapInTrail | null): number {
  return clearness + (shown ? 0.03 * shown.sum + 0.3 * heads : (0.25 * Math.min(30, gapMm)) / 30);
}

/** From one gap to another, millimetres; less than nothing where they overlap. */
function spaceMm(a: OpenGap, b: OpenGap): number {
  return Math.max(b.before.at - a.after.at, a.before.at - b.after.at);
}

/** Of gaps that overlap only one is a gap. */
export function clearestApart(found: readonly OpenGap[]): OpenGap[] {
  const kept: OpenGap[] = [];
  for (const gap of [...found].sort((a, b) => b.merit - a.merit))
    if (kept.every((k) => spaceMm(k, gap) > leastTrackMm)) kept.push(gap);
  return kept;
}

/**
 * Both ends of the rails at an open gap; null when there are none, as at the edges of a cover.
 * @param from rough place of the end before the gap, millimetres from the strips' first row
 * @param to the same of the end after it
 * @param tableNeeded share of the gap's places that must look like table for ends so clear
 */
export function openGap(
  { run, trail, startS, parts }: UnrolledRun,
  from: number,
  to: number,
  reach: GapReach,
  tableNeeded: (before: number, after: number) => number,
): OpenGap | null {
  const roughMm = to - from;
  const intoMm = Math.min(reach.intoMm, 0.4 * roughMm);
  const before = findSectionEnd(parts, from, 1, roughMm, reach.beforeMm, intoMm);
  const after = findSectionEnd(parts, to, -1, roughMm, reach.afterMm, intoMm);
  if (!before || !after) return null;
  const gapMm = after.at - before.at;
  if (gapMm < leastGapMm) return null;
  const clearness = Math.min(before.clearness, after.clearness);
  if (gapMm > longGapMm && clearness < longGapClearness) return null;
  const shown = trail && gapInTrail(trail, startS + before.at, startS + after.at);
  if (shown && shown.within < leastWithin) return null;
  if (shown && shown.within < 0 && clearness < pairClearness - clearnessByFlanges * shown.within) return null;
  const table = tableInGap(run, startS + before.at, startS + after.at);
  const heads = headsEnd(parts, before.at, after.at);
  const isVague = shown && shown.within < vagueTrail.within;
  const hasClearEnd = Math.max(before.clearness, after.clearness) >= vagueTrail.clearEnd;
  if (isVague && !hasClearEnd && (table < vagueTrail.table || heads < vagueTrail.heads)) return null;
  const needed = tableNeeded(before.clearness, after.clearness);
  const enough =
    shown && shown.within > plainWithin && shown.step > plainStep ? tableForShown(heads, before, after, shown) : never;
  if (table < Math.min(needed, enough)) return null;
  return { before, after, merit: meritOf(clearness, heads, gapMm, shown) };
}

/** An end this far from where the table begins to show, and as far as its upright face is seen beyond it, is none of it. */
const apartMm = 3;

/** An end less clear than this may be rust's. */
const rustyClearness = 0.35;

/** So plainly table must show in such a gap, and so much more plainly than beside it. */
export const surelyWithin = 1.5;
const surelyStep = 2;

/**
 * A gap of which one end is told by the table alone: rust on all heads there changes them where nothing ends, and leaves
 * little to change where they end. Null unless the other end is plain, and table shows from one to the other for sure; and
 * where both are told by the rails, as `openGap` finds them.
 * @param from where the table begins to show, millimetres from the strips' first row
 * @param to where it ceases to
 */
export function gapByTable(unrolled: UnrolledRun, from: number, to: number, reach: GapReach): OpenGap | null {
  const { run, trail, startS, parts } = unrolled;
  if (!trail) return null;
  const near = [endNear(parts, from, 1, to - from, reach.beforeMm), endNear(parts, to, -1, to - from, reach.afterMm)];
  const [first, last] = near.map((end) => (end && end.clearness > rustyClearness ? end : null));
  const told = first ?? last;
  if (!told || (first && last) || told.clearness < pairClearness) return null;
  const before = first ?? endByTable(unrolled, trail, from, 1);
  const after = last ?? endByTable(unrolled, trail, to, -1);
  if (!before || !after || after.at - before.at < leastGapMm || after.at - before.at > longGapMm) return null;
  const shown = gapInTrail(trail, startS + before.at, startS + after.at);
  if (!shown || shown.within < surelyWithin || shown.step < surelyStep) return null;
  if (tableInGap(run, startS + before.at, startS + after.at) < sureTable) return null;
  return { before, after, merit: meritOf(told.clearness, 0, after.at - before.at, shown) };
}

/** Whether a gap is one with another, or a part of it. */
export function liesWithin(gap: OpenGap, other: OpenGap): boolean {
  return gap.before.at > other.before.at - apartMm && gap.after.at < other.after.at + apartMm;
}

/** The end of the rails near a place; null where what changes most there lies farther off, or hardly changes. */
function endNear(
  parts: readonly RailPart[],
  at: number,
  towards: 1 | -1,
  gapMm: number,
  reachMm: number,
): SectionEnd | null {
  const end = findSectionEnd(parts, at, towards, gapMm, reachMm, Math.min(apartMm, 0.4 * gapMm));
  const isIt = end && end.clearness > leastClearness && Math.abs(end.at - at) <= Math.max(apartMm, reachMm);
  return isIt ? end : null;
}

/** An end of the rails where the table begins to show at once, between two rows of the trail; null where it does not. */
function endByTable({ startS, parts }: UnrolledRun, trail: TableTrail, at: number, towards: 1 | -1): SectionEnd | null {
  const s = stepInTrail(trail, startS + at, towards);
  if (s === null) return null;
  const end = s - startS;
  const railCount = Math.max(...parts.map((part) => part.rail)) + 1;
  return {
    at: end,
    uMm: trail.stepMm / 2,
    rails: Array.from({ length: railCount }, () => end),
    clearness: plainClearness,
  };
}

/** How clearly the heads alone end on both sides of a gap. */
function headsEnd(parts: readonly RailPart[], from: number, to: number): number {
  const heads = parts.filter(({ part }) => part === 'head');
  return Math.min(endClearness(heads, from, 1, to - from), endClearness(heads, to, -1, to - from));
}

/** Never: more than all of a gap's places. */
export const never = 2;

/** Share of a gap's places that must look like table when nothing but two ends so clear speaks for it. */
export function tableForPair(clearness: number, noise: number): number {
  if (clearness < Math.max(pairClearness, 0.85 * noise)) return never;
  if (clearness > Math.max(plainClearness, 1.3 * noise)) return plainTable;
  return clearness < Math.max(fairClearness, 1.2 * noise) ? sureTable : leastTable;
}

/**
 * Share of a gap's places that must look like table where it shows plainly in the flanges' place. Pins fill a short gap, and
 * a dark tie that hides the flanges may pass for table in the shade; but at a gap's ends the heads end too.
 */
function tableForShown(heads: number, before: SectionEnd, after: SectionEnd, shown: GapInTrail): number {
  if (heads > headsClearness) return plainTable;
  const [clearer, other] = [Math.max, Math.min].map((of) => of(before.clearness, after.clearness));
  if (clearer > oneEnd.clearness && other > oneEnd.other && shown.step > oneEnd.step) return oneEnd.table;
  const length = after.at - before.at > tieMm ? 'overTie' : 'shorter';
  if (heads < leastHeads[length]) return never;
  const both = before.clearness + after.clearness > bothClearness[length];
  if (!both || Math.min(before.clearness, after.clearness) <= eachClearness[length]) return never;
  // The more clearly the heads end, too, the less: from a little on to where that alone is enough.
  const vague = Math.min(1, (headsClearness - heads) / (headsClearness - vagueHeads));
  return plainTable + vague * (shownTable[length] - plainTable);
}

/** How clear two ends are together: where rails are missing between them a plain end makes up for a part of a vague one. */
export const bothEnds = (a: number, b: number): number => 0.75 * Math.min(a, b) + 0.25 * Math.max(a, b);

/** The same when rails are missing there: less the clearer the ends are. */
export function tableForSpan(clearness: number, noise: number): number {
  const least = Math.max(leastClearness, 0.7 * noise);
  if (clearness < least) return never;
  const clear = Math.min(1, (clearness - least) / Math.max(1e-9, noise - least));
  return clearness >= noise ? leastTable : spanTable + clear * (leastTable - spanTable);
}

/** A gap shorter than this is a closed joint's slit. */
const leastGapMm = 3;
