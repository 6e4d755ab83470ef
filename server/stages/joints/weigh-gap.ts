import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { endClearness } from './end-clearness.js';
import {
  cannotBeGap,
  isGap,
  isGapByTable,
  isSurelyTable,
  leastClearness,
  longGapMm,
  pairClearness,
  plainClearness,
} from './gap-evidence.js';
import { findSectionEnd, type SectionEnd } from './rail-end.js';
import type { RailPart } from './rail-parts.js';
import { tableInGap } from './table-in-gap.js';
import { type GapInTrail, gapInTrail, stepInTrail } from './table-spans.js';
import type { TableTrail } from './table-trail.js';

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

/** A gap of which the table tells an end: by itself, or only how long another is that holds it. */
export interface GapByTable extends OpenGap {
  readonly standsAlone: boolean;
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
  const clearness = [before.clearness, after.clearness] as const;
  const shown = trail && gapInTrail(trail, startS + before.at, startS + after.at);
  if (cannotBeGap({ gapMm, clearness, shown })) return null;
  const heads = headsEnd(parts, before.at, after.at);
  const table = tableInGap(run, startS + before.at, startS + after.at);
  if (!isGap({ gapMm, clearness, heads, table, shown }, tableNeeded(...clearness))) return null;
  return { before, after, merit: meritOf(Math.min(...clearness), heads, gapMm, shown) };
}

/** An end this far from where the table begins to show, and as far as its upright face is seen beyond it, is none of it. */
const apartMm = 3;

/** An end less clear than this may be rust's. */
const rustyClearness = 0.35;

/**
 * A gap of which one end is told by the table alone: rust on all heads there changes them where nothing ends, and leaves
 * little to change where they end. Null unless the other end is plain, and table shows from one to the other for sure; and
 * where both are told by the rails, as `openGap` finds them.
 * @param from where the table begins to show, millimetres from the strips' first row
 * @param to where it ceases to
 */
export function gapByTable(unrolled: UnrolledRun, from: number, to: number, reach: GapReach): GapByTable | null {
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
  if (!shown || !isSurelyTable(shown, tableInGap(run, startS + before.at, startS + after.at))) return null;
  const gapMm = after.at - before.at;
  return {
    before,
    after,
    merit: meritOf(told.clearness, 0, gapMm, shown),
    standsAlone: isGapByTable(shown, gapMm, told.clearness),
  };
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

/** A gap shorter than this is a closed joint's slit. */
const leastGapMm = 3;
