import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { type EndBeyond, endBeyondCover } from './beyond-cover.js';
import { endClearness } from './end-clearness.js';
import { leastClearness } from './gap-evidence.js';
import { atEnd, atStart, type MissingSpan } from './missing-spans.js';
import { findSectionEnd, type SectionEnd } from './rail-end.js';
import type { RailPart } from './rail-parts.js';
import { lengthOf } from './rail-strips.js';
import { settleEnd } from './settled-end.js';
import { tableInGap } from './table-in-gap.js';
import { meanTrail, type TableTrail } from './table-trail.js';
import { type UnrolledRun, unrolledMm } from './weigh-gap.js';

/** Where the rails of a run begin and end. */
export interface RunEnds {
  /** First and last place with rails, along the centre line; the whole of a closed run. */
  readonly fromS: number;
  readonly toS: number;
  /** Standard uncertainty of both on an open run; missing on a closed one. */
  readonly fromUMm?: number;
  readonly toUMm?: number;
  /** Where the rails end that show again behind what covers that end of the run. */
  readonly fromBeyond?: EndBeyond;
  readonly toBeyond?: EndBeyond;
}

/** The end of a run is known when it is clearer than this; else only roughly, as a cover or a shadow may stand there. */
const clearEnd = 0.6;
const unclearEndUMm = 8;

/** Where the flanges go over into table the end is known this well, though not clear: pins and a tie may be near. */
const shownEndUMm = 1.5;

/** How much table is supposed beyond the end of a run, millimetres. */
const supposedMm = 20;

/** Beyond an end at least this much of the table must have been unrolled for it to be told, millimetres. */
const endRoomMm = 6;

/** So much bare table beyond the last rails that were followed is the end of a run, whatever its line was led on by. */
const leastBareMm = 40;
/** Samples lie eight millimetres apart, and the last one may have been missed; then there is a pin. */
const beyondFollowedMm = 14;
/** On bare table the trail is above this on average, … */
const bareLevel = 0.5;
/** … or, where flanges look so much like table that it does not tell, this share of all places is like the table beside. */
const bareShare = 0.97;

function isBare(run: RunInPhoto, trail: TableTrail, s: number, towards: 1 | -1): boolean {
  const ends = [s + towards * beyondFollowedMm, s + towards * (beyondFollowedMm + leastBareMm)];
  const [from, to] = [Math.min(...ends), Math.max(...ends)];
  const last = trail.startS + (trail.like.length - 1) * trail.stepMm;
  if (from < trail.startS || to > last) return false;
  return meanTrail(trail, from, to) > bareLevel || tableInGap(run, from, to) > bareShare;
}

/** Where the rails of an open run begin and end, and where they show again if something covers an end. */
export function runEnds(unrolled: UnrolledRun, missing: readonly MissingSpan[]): RunEnds {
  const { run, startS, trail } = unrolled;
  const length = lengthOf(run.line);
  if (run.line.closed) return { fromS: 0, toS: length };
  let [fromS, toS] = [0, length];
  for (const span of missing) {
    if (atStart(span)) fromS = startS + span.to;
    else if (atEnd(span, unrolledMm(unrolled))) toS = startS + span.from;
  }
  const { followed } = run.line;
  if (followed && trail) {
    if (isBare(run, trail, followed.fromS, -1)) fromS = Math.max(fromS, followed.fromS);
    if (isBare(run, trail, followed.toS, 1)) toS = Math.min(toS, followed.toS);
  }
  const [from, to] = [endNear(unrolled, fromS, -1), endNear(unrolled, toS, 1)];
  const beyond = (s: number, towards: 1 | -1): EndBeyond | null =>
    trail && isCovered(trail, s, towards) ? endBeyondCover(run, s, towards) : null;
  const [fromBeyond, toBeyond] = [beyond(from.at, -1), beyond(to.at, 1)];
  return {
    fromS: from.at,
    toS: to.at,
    fromUMm: from.uMm,
    toUMm: to.uMm,
    ...(fromBeyond && { fromBeyond }),
    ...(toBeyond && { toBeyond }),
  };
}

function endNear(unrolled: UnrolledRun, s: number, towards: 1 | -1): KnownEnd {
  const { startS, parts, trail } = unrolled;
  const end = findSectionEnd(parts, s - startS, towards, supposedMm, 12, 10);
  const isEnd = (at: number): boolean => !trail || !isCovered(trail, at, towards);
  // What ends beyond bare table (a sheet of paper, a shadow) is no rail.
  const isBareUpTo = (at: number): boolean =>
    trail !== null && meanTrail(trail, Math.min(s, at), Math.max(s, at)) > bareLevel;
  if (end && end.clearness > clearEnd)
    return isEnd(startS + end.at) ? settledRunEnd(unrolled, end, towards) : { at: startS + end.at, uMm: unclearEndUMm };
  // A shadow may have passed for the end: it is looked for as far as the line was unrolled.
  const room = (towards > 0 ? unrolledMm(unrolled) - (s - startS) : s - startS) - endRoomMm;
  const farther = room > 10 ? findSectionEnd(parts, s - startS, towards, supposedMm, 12, room) : null;
  if (farther && farther.clearness > clearEnd && isEnd(startS + farther.at) && !isBareUpTo(startS + farther.at))
    return settledRunEnd(unrolled, farther, towards);
  const shown = trail && endInTrail(trail, s, towards);
  if (shown === null) return { at: end && end.clearness > leastClearness ? startS + end.at : s, uMm: unclearEndUMm };
  return headsEndNear(unrolled, shown, towards) ?? { at: shown, uMm: shownEndUMm };
}

/** Where a run ends along its line, with its standard uncertainty. */
interface KnownEnd {
  readonly at: number;
  readonly uMm: number;
}

/**
 * The end found, settled; or the rails' own one where flanges go over into table elsewhere: where bright pins were taken for
 * heads, they go on as the heads' crests do, but the table shows under them, for longer than light on the tips of flanges
 * passes for it; and where something before the end changed the rails more than their end does.
 */
function settledRunEnd(unrolled: UnrolledRun, found: SectionEnd, towards: 1 | -1): KnownEnd {
  const { startS, parts, trail } = unrolled;
  const settled = (end: SectionEnd): KnownEnd => {
    const { at, uMm } = settleEnd(parts, end, towards, supposedMm);
    return { at: startS + at, uMm };
  };
  const shown = trail && endInTrail(trail, startS + found.at, towards);
  if (shown === null) return settled(found);
  const pastMm = towards * (startS + found.at - shown);
  // Where the heads end too, what goes on is no flange but the shadow of pins.
  if (pastMm < -leastShortMm && endClearness(headsOf(parts), found.at, towards, supposedMm) < headsEnd)
    return headsEndNear(unrolled, shown, towards) ?? settled(found);
  if (pastMm < longestTipMm) return settled(found);
  const own = findSectionEnd(parts, shown - startS, towards, supposedMm, beforeTipMm, beforeTipMm);
  return own && own.clearness > leastClearness ? settled(own) : { at: shown, uMm: shownEndUMm };
}

/** Heads that all end there tell the end of a run as well as heads and flanges that do. */
const headsEnd = 0.5;

/** The tip of a flange lies in the light that comes in from the open end, and may pass for table: heads end so much farther on. */
const longestTipMm = 9;
/** Flanges that go on this far beyond an end go on indeed, though their tips are lit: the trail is right to a row or two. */
const leastShortMm = 3.5;
const beforeTipMm = 3;

/** What the end of the heads alone is known to, at least. */
const headsEndUMm = 0.6;

const headsOf = (parts: readonly RailPart[]): RailPart[] => parts.filter((view) => view.part === 'head');

/** Where the heads end near where flanges go over into table; null where that is not plain. */
function headsEndNear(unrolled: UnrolledRun, shownS: number, towards: 1 | -1): KnownEnd | null {
  const end = findSectionEnd(
    headsOf(unrolled.parts),
    shownS - unrolled.startS,
    towards,
    supposedMm,
    beforeTipMm,
    longestTipMm,
  );
  if (!end || end.clearness < headsEnd) return null;
  return { at: unrolled.startS + end.at, uMm: Math.max(headsEndUMm, end.uMm) };
}

/** What is looked at on each side of an end, millimetres from it. */
const nearMm = 2;
const farMm = 14;

/** Beyond a free end there is table … */
const tableBeyond = 0.8;
/** … and before it there are rails. */
const railBefore = -0.4;
/** What looks less than this like table beyond an end covers the track. */
const coverBeyond = 0.3;

const beyondAt = (trail: TableTrail, s: number, towards: 1 | -1): number =>
  meanTrail(
    trail,
    Math.min(s + towards * nearMm, s + towards * farMm),
    Math.max(s + towards * nearMm, s + towards * farMm),
  );

function isCovered(trail: TableTrail, s: number, towards: 1 | -1): boolean {
  return beyondAt(trail, s, towards) < coverBeyond;
}

/** How far from where the rails seem to end the flanges may go over into table. */
const shownReachMm = 16;

/** Where rails go over into table: the place that parts rows like rails from rows like table best; null where none does. */
export function endInTrail(trail: TableTrail, nearS: number, towards: 1 | -1): number | null {
  let best: { s: number; merit: number } | null = null;
  for (let s = nearS - shownReachMm; s <= nearS + shownReachMm; s += trail.stepMm / 2) {
    const outer = nearS + towards * (shownReachMm + farMm);
    const inner = nearS - towards * (shownReachMm + farMm);
    const merit = rowsBetween(trail, s, outer) - rowsBetween(trail, inner, s);
    const plain = beyondAt(trail, s, towards) > tableBeyond && beyondAt(trail, s, towards > 0 ? -1 : 1) < railBefore;
    if (plain && (!best || merit > best.merit)) best = { s, merit };
  }
  return best?.s ?? null;
}

/** Sum of the rows of a trail between two places. */
function rowsBetween({ startS, stepMm, like }: TableTrail, a: number, b: number): number {
  let sum = 0;
  const last = Math.min(like.length - 1, Math.floor((Math.max(a, b) - startS) / stepMm));
  for (let i = Math.max(0, Math.ceil((Math.min(a, b) - startS) / stepMm)); i <= last; i++)
    if (!Number.isNaN(like[i])) sum += like[i];
  return sum;
}
