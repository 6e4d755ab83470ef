import type { HiddenSpan, RailJoint } from '../../scene/rail-joint.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { findSlits } from './closed-joints.js';
import { endPairs } from './end-pairs.js';
import { gapBetween } from './open-gap.js';
import { endShape, findSectionEnd } from './rail-end.js';
import { type RailPart, railParts } from './rail-parts.js';
import { lengthOf, type RailStrip, unrollRails } from './rail-strips.js';
import { makeTemplate, medianOf, unlikeness } from './strip-template.js';
import { tableInGap } from './table-in-gap.js';

export interface FindJointsOptions {
  /** A row is taken for 'no rail' beyond this unlikeness. */
  readonly unlike: number;
  readonly shortestGapMm: number;
  /** Longer stretches without rails are taken for covered track. */
  readonly longestGapMm: number;
}

export const defaultFindJointsOptions: FindJointsOptions = {
  unlike: 0.45,
  shortestGapMm: 5,
  longestGapMm: 160,
};

export interface JointsOfRun {
  readonly joints: readonly RailJoint[];
  readonly hidden: readonly HiddenSpan[];
  /** First and last place with rails, along the centre line; the whole of a closed run. */
  readonly fromS: number;
  readonly toS: number;
  /** Standard uncertainty of both on an open run; missing on a closed one. */
  readonly fromUMm?: number;
  readonly toUMm?: number;
}

/** An end of a stretch without rails is none when it is less clear than this, … */
const leastClearness = 0.22;

/** … and one that is looked for all along a run when it is less clear than this. */
const pairClearness = 0.5;

/** How far from the rough end of a gap the rails' end may be: a pin, or rust, may have passed for rail, or the other way. */
const endReachMm = 16;
const pairReachMm = 3;

/** A long gap looks much like covered track: its ends must be clearer. */
const longGapMm = 90;
const longGapClearness = 0.5;

/** Share of an open gap's places that must look like table; less where both ends are plain, as pins fill a short gap. */
const leastTable = 0.7;
const plainTable = 0.4;
const plainClearness = 0.8;

/** Where nothing but two ends speaks for a gap, and these are not clear, what lies between must be table for sure. */
const fairClearness = 0.62;
const sureTable = 0.9;
const spanTable = 0.85;

/** How far beyond the ends of an open line rails are still looked for. */
const beyondEndsMm = 40;

/** Finds open gaps, closed joints, covered stretches and the two ends of one run in one photo. */
export function findJoints(run: RunInPhoto, options: FindJointsOptions = defaultFindJointsOptions): JointsOfRun {
  const { track, line } = run;
  const length = lengthOf(line);
  const extra = line.closed ? 100 : beyondEndsMm;
  const startS = -extra;
  const parts = railParts(run, startS, length + extra, endShape);
  const unrolled = (halfWidthMm: number, acrossStepMm: number): RailStrip[] =>
    unrollRails(run, startS, length + extra, {
      stepMm: endShape.stepMm,
      halfWidthMm,
      acrossStepMm,
      heightMm: track.railTopMm - track.headWidthMm / 2,
    });
  const wide = unrolled((track.flangeWidthMm ?? 2 * track.headWidthMm) / 2 + 3, 0.5);
  // A rusty head may look unlike itself in spots, and a tie covers the flange; where rails are missing both are gone.
  const heads = unrolled(track.headWidthMm / 2 + 1, 0.25);
  const unlike = heads.map((strip, r) => {
    const head = unlikeness(strip, makeTemplate(strip, 60), 1);
    const whole = unlikeness(wide[r], makeTemplate(wide[r], 60), 3);
    return head.map((v, i) => (Number.isNaN(v + whole[i]) ? Number.NaN : Math.min(v, 1.1 * whole[i])));
  });
  const missing = missingSpans(unlike, options);
  const unrolledRun: UnrolledRun = { run, startS, lengthMm: (unlike[0].length - 1) * endShape.stepMm, parts };
  const ends = runEnds(unrolledRun, missing);
  const inside = (s: number): boolean => (line.closed ? s >= 0 && s < length : s > ends.fromS && s < ends.toS);
  const bare = (from: number, to: number): boolean =>
    shareWithin(missing, from, to) > 0.5 && tableInGap(run, startS + from, startS + to) > leastTable;
  const facing = { shortestMm: options.shortestGapMm - 1, longestMm: longGapMm, leastClearness: pairClearness };
  const { pairs, noise } = endPairs(parts, facing);
  const found = [
    ...pairs
      .filter(({ from, to }) => !bare(from - ownSideMm, from) && !bare(to, to + ownSideMm))
      .map((pair) =>
        openGap(unrolledRun, pair.from, pair.to, pairReachMm, (a, b) => tableForPair(Math.min(a, b), noise)),
      ),
    ...missing
      .filter((span) => span.to - span.from <= options.longestGapMm)
      .map((span) =>
        openGap(unrolledRun, span.from, span.to, endReachMm, (a, b) => tableForSpan(bothEnds(a, b), noise)),
      ),
  ].filter((gap) => gap !== null && inside(gap.joint.s));
  const gaps = clearestApart(found as OpenGap[]);
  const hidden = withoutGaps(missing, gaps, startS)
    .filter((span) => span.to - span.from >= shortestCoverMm && inside(startS + (span.from + span.to) / 2))
    .map((span) => ({ fromS: startS + span.from, toS: startS + span.to }));
  const joints = [...gaps];
  const taken = [
    ...gaps.map((j) => [j.s - j.gapMm.value / 2 - 8, j.s + j.gapMm.value / 2 + 8]),
    ...hidden.map((h) => [h.fromS - 4, h.toS + 4]),
  ];
  for (const slit of findSlits(run, ends.fromS, ends.toS))
    if (!taken.some(([a, b]) => slit.s > a && slit.s < b)) joints.push(slit);
  joints.sort((p, q) => p.s - q.s);
  return { joints, hidden, ...ends };
}

/** Behind an end there are rails for at least this much: what ends against bare table is no rail, millimetres. */
const ownSideMm = 12;

/** Share of a stretch that lies in the spans given. */
function shareWithin(spans: readonly MissingSpan[], from: number, to: number): number {
  const within = spans.map((s) => Math.max(0, Math.min(to, s.to) - Math.max(from, s.from)));
  return within.reduce((a, b) => a + b, 0) / (to - from);
}

/** A stretch of missing rails shorter than this that is no gap is a shadow or a spot. */
const shortestCoverMm = 12;

/** Where the rails of an open run begin and end. */
function runEnds(
  { run, startS, lengthMm, parts }: UnrolledRun,
  missing: readonly MissingSpan[],
): Pick<JointsOfRun, 'fromS' | 'toS' | 'fromUMm' | 'toUMm'> {
  const length = lengthOf(run.line);
  if (run.line.closed) return { fromS: 0, toS: length };
  let [fromS, toS] = [0, length];
  for (const span of missing) {
    if (atStart(span)) fromS = startS + span.to;
    else if (atEnd(span, lengthMm)) toS = startS + span.from;
  }
  const exact = (s: number, towards: 1 | -1): { at: number; uMm: number } => {
    const end = findSectionEnd(parts, s - startS, towards, 20, 12, 10);
    if (end && end.clearness > clearEnd) return { at: startS + end.at, uMm: end.uMm };
    // A shadow may have passed for the end: it is looked for as far as the line was unrolled.
    const room = (towards > 0 ? lengthMm - (s - startS) : s - startS) - endRoomMm;
    const farther = room > 10 ? findSectionEnd(parts, s - startS, towards, 20, 12, room) : null;
    if (farther && farther.clearness > clearEnd) return { at: startS + farther.at, uMm: farther.uMm };
    return { at: end && end.clearness > leastClearness ? startS + end.at : s, uMm: unclearEndUMm };
  };
  const [from, to] = [exact(fromS, -1), exact(toS, 1)];
  return { fromS: from.at, toS: to.at, fromUMm: from.uMm, toUMm: to.uMm };
}

/** The end of a run is known when it is clearer than this; else only roughly, as a cover or a shadow may stand there. */
const clearEnd = 0.6;
const unclearEndUMm = 8;

/** Beyond an end at least this much of the table must have been unrolled for it to be told, millimetres. */
const endRoomMm = 6;

interface OpenGap {
  readonly joint: RailJoint;
  readonly clearness: number;
}

/** Track between two gaps is no shorter than this. */
const leastTrackMm = 15;

/** Of gaps that overlap only the one with the clearer ends is one. */
function clearestApart(found: readonly OpenGap[]): RailJoint[] {
  const kept: RailJoint[] = [];
  // A pin's tip ends too: of gaps that share an end the longer is the gap, if it is nearly as clear.
  const merit = (gap: OpenGap): number => gap.clearness + (0.25 * Math.min(30, gap.joint.gapMm.value)) / 30;
  for (const { joint } of [...found].sort((a, b) => merit(b) - merit(a)))
    if (kept.every((k) => Math.abs(k.s - joint.s) > (k.gapMm.value + joint.gapMm.value) / 2 + leastTrackMm))
      kept.push(joint);
  return kept;
}

/** What is left of missing stretches when the gaps are taken out of them. */
function withoutGaps(spans: readonly MissingSpan[], gaps: readonly RailJoint[], startS: number): MissingSpan[] {
  let left = [...spans];
  for (const gap of gaps) {
    const a = gap.s - gap.gapMm.value / 2 - 3 - startS;
    const b = gap.s + gap.gapMm.value / 2 + 3 - startS;
    left = left.flatMap((span) =>
      span.to < a || span.from > b
        ? [span]
        : [
            { from: span.from, to: a },
            { from: b, to: span.to },
          ].filter((part) => part.to - part.from >= 5),
    );
  }
  return left;
}

/** A stretch in which most rails are missing, millimetres from the strips' first row. */
interface MissingSpan {
  readonly from: number;
  readonly to: number;
}

const atStart = (span: MissingSpan): boolean => span.from <= endShape.stepMm;
const atEnd = (span: MissingSpan, lengthMm: number): boolean => span.to >= lengthMm - endShape.stepMm;

/** Stretches where most rails are missing, joined over interruptions shorter than a rail's width. */
function missingSpans(unlike: readonly Float32Array[], options: FindJointsOptions): MissingSpan[] {
  const { stepMm } = endShape;
  const rows = unlike[0].length;
  const missing = (i: number): boolean => {
    const values = unlike.map((u) => (Number.isNaN(u[i]) ? 9 : u[i]));
    return medianOf(values) > options.unlike;
  };
  const spans: { from: number; to: number }[] = [];
  for (let i = 0; i < rows; i++) {
    if (!missing(i)) continue;
    const last = spans[spans.length - 1];
    if (last && i * stepMm - last.to < 5) last.to = i * stepMm;
    else spans.push({ from: i * stepMm, to: i * stepMm });
  }
  return spans.filter((s) => s.to - s.from >= options.shortestGapMm || atStart(s) || atEnd(s, (rows - 1) * stepMm));
}

/** One run in one photo with its rails unrolled. */
interface UnrolledRun {
  readonly run: RunInPhoto;
  /** Place on the line of the strips' first row. */
  readonly startS: number;
  readonly lengthMm: number;
  readonly parts: readonly RailPart[];
}

/** Both ends of the rails at an open gap, millimetres from the strips' first row; null when there are none, as at the edges of a cover. */
function openGap(
  { run, startS, parts }: UnrolledRun,
  from: number,
  to: number,
  reachMm: number,
  tableNeeded: (before: number, after: number) => number,
): OpenGap | null {
  const width = to - from;
  const before = findSectionEnd(parts, from, 1, width, reachMm, Math.min(reachMm, 0.4 * width));
  const after = findSectionEnd(parts, to, -1, width, reachMm, Math.min(reachMm, 0.4 * width));
  if (!before || !after) return null;
  const value = after.at - before.at;
  if (value < leastGapMm) return null;
  const clearness = Math.min(before.clearness, after.clearness);
  if (value > longGapMm && clearness < longGapClearness) return null;
  const needed = tableNeeded(before.clearness, after.clearness);
  if (needed > 1) return null;
  const table = tableInGap(run, startS + before.at, startS + after.at);
  if (table < needed) return null;
  return { joint: gapBetween(parts, before, after, startS + (before.at + after.at) / 2), clearness };
}

/** Never: more than all of a gap's places. */
const never = 2;

/** Share of a gap's places that must look like table when nothing but two ends so clear speaks for it. */
function tableForPair(clearness: number, noise: number): number {
  if (clearness < Math.max(pairClearness, 0.85 * noise)) return never;
  if (clearness > Math.max(plainClearness, 1.3 * noise)) return plainTable;
  return clearness < Math.max(fairClearness, 1.2 * noise) ? sureTable : leastTable;
}

/** How clear two ends are together: where rails are missing between them a plain end makes up for a part of a vague one. */
const bothEnds = (a: number, b: number): number => 0.75 * Math.min(a, b) + 0.25 * Math.max(a, b);

/** The same when rails are missing there: less the clearer the ends are. */
function tableForSpan(clearness: number, noise: number): number {
  const least = Math.max(leastClearness, 0.7 * noise);
  if (clearness < least) return never;
  const clear = Math.min(1, (clearness - least) / Math.max(1e-9, noise - least));
  return clearness >= noise ? leastTable : spanTable + clear * (leastTable - spanTable);
}

/** A gap shorter than this is a closed joint's slit. */
const leastGapMm = 3;
