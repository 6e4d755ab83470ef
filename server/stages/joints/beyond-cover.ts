import type { CentreLine } from '../../scene/rail-joint.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { endShape, findSectionEnd } from './rail-end.js';
import { giveBackParts, railParts } from './rail-parts.js';
import { giveBackStrips, lengthOf, placeAt, unrollRails } from './rail-strips.js';
import { makeTemplate, medianOf, unlikeness } from './strip-template.js';
import { meanTrail, tableTrail } from './table-trail.js';

/** Where rails end that show again behind a cover, table frame at the height of the rail axes. */
export interface EndBeyond {
  readonly x: number;
  readonly y: number;
  /** Standard uncertainty along the track. */
  readonly uMm: number;
}

/** How much of the run before the cover tells where it heads; a run that bends more there is not followed under a cover. */
const knownMm = 160;
const largestBendMm = 0.8;
/** Longest cover that is looked behind: a wagon, a small house. */
const longestCoverMm = 420;
const shortestCoverMm = 20;
/** Track may be kinked by so much at a joint under the cover. */
const largestKinkRad = 0.009;
const kinkStepRad = 0.003;

/** Behind the end there is table, before it rails: least and most of a trail, over so much of it. */
const tableBehind = 1;
const railBefore = -0.8;
const lookedAtMm = 12;
const mixedMm = 2;
/** Heads that show again look like those before the cover; less so where flanges go over into table as plainly as can be. */
const mostUnlike = 0.45;
const plainStep = 5;
const mostUnlikeAtPlainStep = 0.75;
const clearEnd = 0.5;
const roughUMm = 1.5;

/**
 * Looks straight on behind what covers the end of an open run: a wagon that stands near the end of a track leaves a few
 * centimetres of it to be seen, too little to be found as track, but they lie where the run heads and end on bare table.
 * Null where nothing like it shows. Something is taken for the track's end only where table shows behind it.
 * @param endS where the run goes under the cover
 * @param towards +1 when it does so in the direction of growing s
 */
export function endBeyondCover(run: RunInPhoto, endS: number, towards: 1 | -1): EndBeyond | null {
  let best: { line: CentreLine; s: number; step: number } | null = null;
  for (let kink = -largestKinkRad; kink < largestKinkRad + 1e-9; kink += kinkStepRad) {
    const line = straightOn(run.line, endS, towards, kink);
    if (!line) return null;
    const trail = tableTrail({ ...run, line }, 0, lengthOf(line), knownMm);
    if (!trail) return null;
    for (let s = knownMm + shortestCoverMm; s < lengthOf(line) - lookedAtMm - mixedMm; s++) {
      const behind = meanTrail(trail, s + mixedMm, s + mixedMm + lookedAtMm);
      const before = meanTrail(trail, s - mixedMm - lookedAtMm, s - mixedMm);
      const step = behind - before + meanTrail(trail, s, s + 3) - meanTrail(trail, s - 3, s);
      if (behind > tableBehind && before < railBefore && (!best || step > best.step)) best = { line, s, step };
    }
  }
  if (!best) return null;
  const most = best.step > plainStep ? mostUnlikeAtPlainStep : mostUnlike;
  if (headsUnlike({ ...run, line: best.line }, best.s) > most) return null;
  return placed({ ...run, line: best.line }, best.s);
}

/** The run's last part as a straight, and on from there, turned by the kink where it goes under the cover. */
function straightOn(line: CentreLine, endS: number, towards: 1 | -1, kinkRad: number): CentreLine | null {
  const known = [1, 0.75, 0.5, 0.25, 0].map((share) => placeAt(line, endS - towards * share * knownMm));
  const [start, , middle, , end] = known;
  const headingRad = Math.atan2(end.y - start.y, end.x - start.x);
  const [c, n] = [Math.cos(headingRad), Math.sin(headingRad)];
  const bend = -(middle.x - (start.x + end.x) / 2) * n + (middle.y - (start.y + end.y) / 2) * c;
  if (Math.abs(bend) > largestBendMm) return null;
  const stepMm = 8;
  const places = Array.from({ length: Math.floor((knownMm + longestCoverMm) / stepMm) }, (_, i) => {
    const beyond = Math.max(0, i * stepMm - knownMm);
    const along = Math.min(knownMm, i * stepMm);
    const turned = headingRad + kinkRad;
    return {
      x: start.x + along * c + beyond * Math.cos(turned),
      y: start.y + along * n + beyond * Math.sin(turned),
      headingRad: beyond > 0 ? turned : headingRad,
    };
  });
  return { stepMm, closed: false, places };
}

/** How unlike the heads before the cover those are that end at s: the middle of the rails. */
function headsUnlike(run: RunInPhoto, s: number): number {
  const { track } = run;
  const shape = {
    stepMm: endShape.stepMm,
    halfWidthMm: track.headWidthMm / 2 + 1,
    acrossStepMm: 0.25,
    heightMm: track.railTopMm - track.headWidthMm / 2,
  };
  const known = unrollRails(run, 0, knownMm, shape);
  const shown = unrollRails(run, s - mixedMm - lookedAtMm, s - mixedMm, shape);
  const unlike = shown.map((strip, r) => medianOf([...unlikeness(strip, makeTemplate(known[r], 60), 1)]));
  giveBackStrips([...known, ...shown]);
  return medianOf(unlike);
}

function placed(run: RunInPhoto, s: number): EndBeyond {
  const startS = s - 40;
  const parts = railParts(run, startS, s + 40, endShape);
  const end = findSectionEnd(parts, s - startS, 1, 14, 4, 4);
  giveBackParts(parts);
  const clear = end && end.clearness > clearEnd ? end : null;
  const { x, y } = placeAt(run.line, clear ? startS + clear.at : s);
  return { x, y, uMm: clear ? Math.max(0.5, clear.uMm) : roughUMm };
}
