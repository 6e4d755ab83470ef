import { type Behind, behindMm, mayEndThere, whatLiesBehind } from './behind-ends.js';
import { type EndPair, endPairs } from './end-pairs.js';
import { bothEnds, leastTable, longGapMm, never, pairClearness, tableForPair, tableForSpan } from './gap-evidence.js';
import { type MissingSpan, missesRails, shareWithin } from './missing-spans.js';
import { endShape } from './rail-end.js';
import { tableInGap } from './table-in-gap.js';
import { gapInTrail, tableSpans } from './table-spans.js';
import { clearestApart, type GapReach, gapByTable, type OpenGap, openGap, type UnrolledRun } from './weigh-gap.js';
import { inCommon, shorterGaps, withoutWider } from './wider-gaps.js';

/** Shorter gaps are closed joints; longer stretches without rails are taken for covered track. */
export const shortestGapMm = 5;
const longestGapMm = 160;

/** How far from the rough end of a gap the rails' end may be: a pin, or rust, may have passed for rail, or the other way. */
const endReachMm = 16;
const pairReachMm = 3;

/** The same for the rough end of a stretch where table shows. */
const shownReachMm = 4;

/**
 * The open gaps of a run, their ends as they were found: of all that may be one, those that are.
 * @param missing stretches where the rails do not look like themselves
 * @param inside whether a place, from the start of what is unrolled, lies on the run, and once on a closed one
 */
export function gapsSeen(
  unrolledRun: UnrolledRun,
  missing: readonly MissingSpan[],
  inside: (at: number) => boolean,
): OpenGap[] {
  const { run, startS, parts } = unrolledRun;
  const breaks = (gap: OpenGap): boolean =>
    inside((gap.before.at + gap.after.at) / 2) &&
    missesRails(missing, gap.before.at, gap.after.at, run.track.pinReachMm);
  const breaksAmong = (list: readonly (OpenGap | null)[]): OpenGap[] =>
    list.filter((gap) => gap !== null && breaks(gap)) as OpenGap[];
  const endsRails = (gap: OpenGap): boolean => mayEndItsRails(gap, unrolledRun, missing);
  const bare = (from: number, to: number): boolean =>
    shareWithin(missing, from, to) > 0.5 && tableInGap(run, startS + from, startS + to) > leastTable;
  const facing = { shortestMm: shortestGapMm - 1, longestMm: longGapMm, leastClearness: pairClearness };
  const { pairs, noise } = endPairs(parts, facing);
  const ofPair = ({ from, to }: EndPair): OpenGap | null =>
    openGap(unrolledRun, from, to, evenly(pairReachMm), (a, b) => tableForPair(Math.min(a, b), noise));
  const uncovered = missing.filter((span) => span.to - span.from <= longestGapMm);
  const shown = stretchesOfTable(unrolledRun);
  const broken = breaksAmong([
    ...pairs.filter(({ from, to }) => !bare(from - ownSideMm, from) && !bare(to, to + ownSideMm)).map(ofPair),
    ...uncovered.map(({ from, to }) =>
      openGap(unrolledRun, from, to, evenly(endReachMm), (a, b) => tableForSpan(bothEnds(a, b), noise)),
    ),
    ...shown.map(({ from, to, reach }) => openGap(unrolledRun, from, to, reach, () => never)),
  ]);
  // Each of two that overlap may have one end right.
  const mayOverlap = [
    ...broken.map(({ before, after }) => ({ from: before.at, to: after.at })),
    ...uncovered,
    ...shown,
  ];
  const crossed = breaksAmong(inCommon(mayOverlap, pairReachMm, shortestGapMm).map(ofPair));
  const told = [...broken, ...crossed].filter(endsRails);
  const byTable = shown
    .map(({ from, to, reach }) => gapByTable(unrolledRun, from, to, reach))
    .filter((gap) => gap !== null);
  const shorter = shorterGaps(byTable, told, broken, (gap) => breaks(gap) && endsRails(gap));
  return clearestApart(withoutWider([...told, ...shorter], unrolledRun, missing));
}

/** Whether what lies behind both ends of a gap lets rails end there. */
function mayEndItsRails(
  { before, after }: OpenGap,
  { run, trail, startS }: UnrolledRun,
  missing: readonly MissingSpan[],
): boolean {
  const behind = (from: number, to: number): Behind =>
    whatLiesBehind(shareWithin(missing, from, to), () => tableInGap(run, startS + from, startS + to));
  return mayEndThere(
    [behind(before.at - behindMm, before.at - 1), behind(after.at + 1, after.at + behindMm)],
    after.at - before.at,
    trail && gapInTrail(trail, startS + before.at, startS + after.at),
  );
}

/** Where table shows in place of the flanges, and how far from there the ends of a gap may lie. */
function stretchesOfTable(unrolledRun: UnrolledRun): (EndPair & { readonly reach: GapReach })[] {
  const { trail, startS } = unrolledRun;
  const spans = trail ? tableSpans(trail, shortestGapMm - 1) : [];
  return spans
    .filter((span) => span.toS - span.fromS <= longestGapMm)
    .map(({ fromS, toS }) => ({
      from: fromS - startS,
      to: toS - startS,
      reach: shownReach(unrolledRun, fromS, toS),
    }));
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
