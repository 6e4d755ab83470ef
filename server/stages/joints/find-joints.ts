import type { HiddenSpan, RailJoint } from '../../scene/rail-joint.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { gapsSeen, shortestGapMm } from './gaps-seen.js';
import { covers, type MissingSpan, missingSpans, withoutGaps } from './missing-spans.js';
import { gapBetween } from './open-gap.js';
import { endShape } from './rail-end.js';
import { railParts } from './rail-parts.js';
import { giveBackStrips, lengthOf, placeOnLine, type RailStrip, unrollRails } from './rail-strips.js';
import type { RunEnds } from './run-ends.js';
import { settleEnd } from './settled-end.js';
import { makeTemplate, unlikeness } from './strip-template.js';
import { tableTrail } from './table-trail.js';
import type { UnrolledRun } from './weigh-gap.js';

/** A row is taken for 'no rail' beyond this unlikeness. */
const mostUnlike = 0.45;

/** What one photo shows of one run: its joints, what is covered, and its two ends; those of the whole line if it is closed. */
export interface JointsOfRun extends RunEnds {
  readonly joints: readonly RailJoint[];
  readonly hidden: readonly HiddenSpan[];
}

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
  const { run, startS, parts } = unrolledRun;
  const { line } = run;
  const inside = (at: number): boolean => {
    const s = startS + at;
    return line.closed ? s >= 0 && s < lengthOf(line) : s > ends.fromS && s < ends.toS;
  };
  const gaps = gapsSeen(unrolledRun, missing, inside).map(({ before, after }) => {
    const gapMm = after.at - before.at;
    const ends = [settleEnd(parts, before, 1, gapMm), settleEnd(parts, after, -1, gapMm)] as const;
    const gap = gapBetween(parts, ...ends, startS);
    return { ...gap, s: placeOnLine(line, gap.s) };
  });
  const hidden = covers(withoutGaps(missing, gaps, startS))
    .filter((span) => inside((span.from + span.to) / 2))
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
