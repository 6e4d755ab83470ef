import type { HiddenSpan, RailJoint } from '../../scene/rail-joint.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { type Behind, behindMm, mayEndThere, whatLiesBehind } from './behind-ends.js';
import { endPairs } from './end-pairs.js';
import { bothEnds, leastTable, longGapMm, never, pairClearness, tableForPair, tableForSpan } from './gap-evidence.js';
import { covers, type MissingSpan, missesRails, missingSpans, shareWithin, withoutGaps } from './missing-spans.js';
import { gapBetween } from './open-gap.js';
import { endShape } from './rail-end.js';
import { railParts } from './rail-parts.js';
import { giveBackStrips, lengthOf, placeOnLine, type RailStrip, unrollRails } from './rail-strips.js';
import type { RunEnds } from './run-ends.js';
import { settleEnd } from './settled-end.js';
import { makeTemplate, unlikeness } from './strip-template.js';
import { tableInGap } from './table-in-gap.js';
import { gapInTrail, tableSpans } from './table-spans.js';
import { tableTrail } from './table-trail.js';
import { clearestApart, type GapReach, gapByTable, type OpenGap, openGap, type UnrolledRun } from './weigh-gap.js';
import { inCommon, shorterGaps, withoutWider } from './wider-gaps.js';

/** A row is taken for 'no rail' beyond this unlikeness. */
const mostUnlike = 0.45;

/** Shorter gaps are closed joints; longer stretches without rails are taken for covered track. */
const shortestGapMm = 5;
const longestGapMm = 160;

/** What one photo shows of one run: its joints, what is covered, and its two ends; those of the whole line if it is closed. */
export interface JointsOfRun extends RunEnds {
  readonly joints: readonly RailJoint[];
  readonly hidden: readonly HiddenSpan[];
}

/** How far from the rough end of a gap the rails' end may be: a pin, or rust, may have passed for rail, or the other way. */
const endReachMm = 16;
const pairReachMm = 3;

/** The same for the rough end of a stretch where table shows. */
const shownReachMm = 4;

/** How far beyond the ends of an open line rails are still looked for. */
const beyondEndsMm = 40;

/** How far a closed line is unrolled twice, so that what lies about its seam is looked at with all around it. */
const beyondSeamMm = 100;

/** From where to where along the line a run is unrolled: beyond its ends, a closed one beyond its seam on both sides. */
function unrolledSpan({ line }: RunInPhoto): { startS: number; endS: number } {
  const extra = line.closed ? beyondSeamMm : beyondEndsMm;
  return { startS: -extra, endS: lengthOf(line) + extra };
}

/** Heads, flanges and table along a run, as all its ends and gaps are looked for in them. */
export function unrollRun(run: RunInPhoto): UnrolledRun {
  const { startS, endS } = unrolledSpan(run);
  return { run, trail: tableTrail(run, startS, endS), startS, parts: railParts(run, startS, endS, endShape) };
}

/** Stretches where the rails do not look like themselves, from the start of what is unrolled. */
export function missingRails(run: RunInPhoto): MissingSpan[] {
  const { track } = run;
  const { startS, endS } = unrolledSpan(run);
  const unrolled = (halfWidthMm: number, acrossStepMm: number): RailStrip[] =>
    unrollRails(run, startS, endS, {
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
  giveBackStrips([...wide, ...heads]);
  return missingSpans(unlike, { unlike: mostUnlike, shortestGapMm });
}

/** Open gaps of a run, and what is covered. */
export interface GapsOfRun {
  readonly gaps: readonly RailJoint[];
  readonly hidden: readonly HiddenSpan[];
}

export function findGaps(unrolledRun: UnrolledRun, missing: readonly MissingSpan[], ends: RunEnds): GapsOfRun {
  const { run, trail, startS, parts } = unrolledRun;
  const { line } = run;
  const inside = (s: number): boolean => (line.closed ? s >= 0 && s < lengthOf(line) : s > ends.fromS && s < ends.toS);
  const bare = (from: number, to: number): boolean =>
    shareWithin(missing, from, to) > 0.5 && tableInGap(run, startS + from, startS + to) > leastTable;
  const facing = { shortestMm: shortestGapMm - 1, longestMm: longGapMm, leastClearness: pairClearness };
  const { pairs, noise } = endPairs(parts, facing);
  const shown = (trail ? tableSpans(trail, shortestGapMm - 1) : [])
    .filter((span) => span.toS - span.fromS <= longestGapMm)
    .map(({ fromS, toS }) => ({
      from: fromS - startS,
      to: toS - startS,
      reach: shownReach(unrolledRun, fromS, toS),
    }));
  const missingShort = missing.filter((span) => span.to - span.from <= longestGapMm);
  const behind = (from: number, to: number): Behind =>
    whatLiesBehind(shareWithin(missing, from, to), () => tableInGap(run, startS + from, startS + to));
  const endsRails = ({ before, after }: OpenGap): boolean =>
    mayEndThere(
      [behind(before.at - behindMm, before.at - 1), behind(after.at + 1, after.at + behindMm)],
      after.at - before.at,
      trail && gapInTrail(trail, startS + before.at, startS + after.at),
    );
  const breaks = (gap: OpenGap): boolean =>
    inside(startS + (gap.before.at + gap.after.at) / 2) &&
    missesRails(missing, gap.before.at, gap.after.at, run.track.pinReachMm);
  const breaksAmong = (list: readonly (OpenGap | null)[]): OpenGap[] =>
    list.filter((gap) => gap !== null && breaks(gap)) as OpenGap[];
  const breaksFound = breaksAmong([
    ...pairs
      .filter(({ from, to }) => !bare(from - ownSideMm, from) && !bare(to, to + ownSideMm))
      .map((pair) =>
        openGap(unrolledRun, pair.from, pair.to, evenly(pairReachMm), (a, b) => tableForPair(Math.min(a, b), noise)),
      ),
    ...missingShort.map((span) =>
      openGap(unrolledRun, span.from, span.to, evenly(endReachMm), (a, b) => tableForSpan(bothEnds(a, b), noise)),
    ),
    ...shown.map(({ from, to, reach }) => openGap(unrolledRun, from, to, reach, () => never)),
  ]);
  const found = breaksFound.filter(endsRails);
  // Each of two that overlap may have one end right.
  const mayOverlap = [
    ...breaksFound.map(({ before, after }) => ({ from: before.at, to: after.at })),
    ...missingShort,
    ...shown,
  ];
  const crossed = breaksAmong(
    inCommon(mayOverlap, pairReachMm, shortestGapMm).map(({ from, to }) =>
      openGap(unrolledRun, from, to, evenly(pairReachMm), (a, b) => tableForPair(Math.min(a, b), noise)),
    ),
  ).filter(endsRails);
  const told = [...found, ...crossed];
  const byTable = shown
    .map(({ from, to, reach }) => gapByTable(unrolledRun, from, to, reach))
    .filter((gap) => gap !== null);
  const shorter = shorterGaps(byTable, told, breaksFound, (gap) => breaks(gap) && endsRails(gap));
  const gaps = clearestApart(withoutWider([...told, ...shorter], unrolledRun, missing)).map(({ before, after }) => {
    const gapMm = after.at - before.at;
    const ends = [settleEnd(parts, before, 1, gapMm), settleEnd(parts, after, -1, gapMm)] as const;
    const gap = gapBetween(parts, ...ends, startS);
    return { ...gap, s: placeOnLine(line, gap.s) };
  });
  const hidden = covers(withoutGaps(missing, gaps, startS))
    .filter((span) => inside(startS + (span.from + span.to) / 2))
    .map((span) => ({ fromS: startS + span.from, toS: startS + span.to }));
  return { gaps, hidden };
}

/** All joints of a run, along its line; a slit beside a gap or under a cover is none. */
export function jointsOfRun({ gaps, hidden }: GapsOfRun, slits: readonly RailJoint[], ends: RunEnds): JointsOfRun {
  const taken = [
    ...gaps.map((j) => [j.s - j.gapMm.value / 2 - 8, j.s + j.gapMm.value / 2 + 8]),
    ...hidden.map((h) => [h.fromS - 4, h.toS + 4]),
  ];
  const closed = slits.filter((slit) => !taken.some(([a, b]) => slit.s > a && slit.s < b));
  return { joints: [...gaps, ...closed].sort((p, q) => p.s - q.s), hidden, ...ends };
}

const evenly = (mm: number): GapReach => ({ beforeMm: mm, afterMm: mm, intoMm: mm });

/** Of an end that faces the eye the upright face is seen beyond the flange, before the table shows. */
function shownReach({ run, startS, parts }: UnrolledRun, fromS: number, toS: number): GapReach {
  const along = (s: number): number => parts[0].slopesAt(Math.round((s - startS) / endShape.stepMm)).along;
  const faceMm = (slope: number): number => (run.track.flangeTopMm ?? 0) * Math.max(0, slope);
  return {
    beforeMm: shownReachMm + faceMm(along(fromS)),
    afterMm: shownReachMm + faceMm(-along(toS)),
    intoMm: shownReachMm,
  };
}

/** Behind an end there are rails for at least this much: what ends against bare table is no rail, millimetres. */
const ownSideMm = 12;
