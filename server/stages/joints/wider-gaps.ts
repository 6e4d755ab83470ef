import type { EndPair } from './end-pairs.js';
import { surelyWithin } from './gap-evidence.js';
import { type MissingSpan, shareWithin } from './missing-spans.js';
import { gapInTrail, mixedMm } from './table-spans.js';
import { meanTrail } from './table-trail.js';
import { type GapByTable, liesWithin, type OpenGap, type UnrolledRun } from './weigh-gap.js';

/** Beyond an end of a narrower gap so much is looked at, and it is rail where table shows less than this in it. */
const besideNarrowerMm = 12;
const railBeside = -0.4;

/** Rails are missing in most of a gap, and in as good as nothing of a stretch of rails. */
const missingInGap = 0.85;
const missingInRails = 0.1;
/** Heads that show for so much longer than pins reach are heads. */
const longerThanPinsMm = 4;
/** Of so much beyond its edge a cover hides as good as all. */
const coverMm = 12;
const missingInCover = 0.9;

/**
 * Leaves out the gaps that reach past a narrower one into rails: where the heads are rusty, but it is their flanges that show,
 * and table right up to them; and where the heads themselves show for longer than pins reach, up to where a cover or rust
 * begins, which ends the rails more plainly than their own end does.
 */
export function withoutWider(
  gaps: readonly OpenGap[],
  unrolled: UnrolledRun,
  missing: readonly MissingSpan[],
): OpenGap[] {
  return gaps.filter(
    (gap) =>
      !gaps.some(
        (other) =>
          liesWithin(other, gap) &&
          (reachesIntoFlanges(gap, other, unrolled) || reachesIntoHeads(gap, other, unrolled, missing)),
      ),
  );
}

/** Whether table shows in the narrower of two gaps, and the wider reaches on where none does. */
function reachesIntoFlanges(wide: OpenGap, narrow: OpenGap, { trail, startS }: UnrolledRun): boolean {
  const [before, after] = widerBy(wide, narrow);
  if (!trail || Math.max(before, after) < besideNarrowerMm) return false;
  const shown = gapInTrail(trail, startS + narrow.before.at, startS + narrow.after.at);
  if (!shown || shown.within < surelyWithin) return false;
  const railFrom = (a: number, b: number): boolean => meanTrail(trail, startS + a, startS + b) < railBeside;
  const [{ at: from }, { at: to }] = [narrow.before, narrow.after];
  return (
    (before < besideNarrowerMm || railFrom(from - besideNarrowerMm, from - mixedMm)) &&
    (after < besideNarrowerMm || railFrom(to + mixedMm, to + besideNarrowerMm))
  );
}

/** Whether rails are missing in the narrower of two gaps, and the wider reaches on where they are not, to a cover or rust. */
function reachesIntoHeads(
  wide: OpenGap,
  narrow: OpenGap,
  { run }: UnrolledRun,
  missing: readonly MissingSpan[],
): boolean {
  const longMm = run.track.pinReachMm + longerThanPinsMm;
  const [before, after] = widerBy(wide, narrow);
  if (Math.max(before, after) < longMm || shareWithin(missing, narrow.before.at, narrow.after.at) < missingInGap)
    return false;
  const headsUpToCover = (end: number, cover: number, towards: 1 | -1): boolean => {
    const missingIn = (s: number, mm: number): number =>
      shareWithin(missing, Math.min(s, s + towards * mm), Math.max(s, s + towards * mm));
    return missingIn(end, longMm) < missingInRails && missingIn(cover, coverMm) > missingInCover;
  };
  return (
    (before < longMm || headsUpToCover(narrow.before.at, wide.before.at, -1)) &&
    (after < longMm || headsUpToCover(narrow.after.at, wide.after.at, 1))
  );
}

/**
 * What every two stretches that overlap have in common, where that is neither of them: each may have one end right.
 * @param apartMm ends nearer together than this are one end
 * @param shortestMm what is shorter is no gap
 */
export function inCommon(spans: readonly EndPair[], apartMm: number, shortestMm: number): EndPair[] {
  return spans.flatMap((first) =>
    spans
      .filter(({ from, to }) => from - first.from > apartMm && to - first.to > apartMm)
      .filter(({ from }) => first.to - from > shortestMm)
      .map(({ from }) => ({ from, to: first.to })),
  );
}

/**
 * Those of which table tells an end that may count: hardly a gap by itself, it says how long one is that holds it. Where what
 * holds it breaks the rails, but cannot be a gap, as it ends at a cover, it must itself be what may be one.
 * @param told gaps that hold others
 * @param breaks where rails are missing, gaps or not
 */
export function shorterGaps(
  byTable: readonly GapByTable[],
  told: readonly OpenGap[],
  breaks: readonly OpenGap[],
  mayBe: (gap: OpenGap) => boolean,
): OpenGap[] {
  const isHeldBy = (gap: OpenGap, list: readonly OpenGap[]): boolean => list.some((other) => liesWithin(gap, other));
  return byTable.filter((gap) => isHeldBy(gap, told) || ((gap.standsAlone || isHeldBy(gap, breaks)) && mayBe(gap)));
}

/** By how much one gap reaches farther than another before it and after it, millimetres. */
const widerBy = (wide: OpenGap, narrow: OpenGap): readonly [number, number] => [
  narrow.before.at - wide.before.at,
  wide.after.at - narrow.after.at,
];
