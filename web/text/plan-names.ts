import { isLaidAnew, isOfItsPieces, onlySlides, takenOut } from '../../server/contract/laid-anew.js';
import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import { formatLength } from './lengths.js';
import { otherWayTexts, preferenceTexts } from './preferences.js';

type Stretch = PlanWithoutAlternatives['stretches'][number];

/** A run that moves by less stays where it is, for what a hand can do, millimetres. */
const staysMm = 1;

/** A run that comes out longer or shorter by less keeps its length in words, millimetres. */
const sameLengthMm = 3;

export function cutsOf({ cuts, donors }: PlanWithoutAlternatives): number {
  return cuts ?? donors.reduce((n, d) => n + d.pieces.length, 0);
}

/**
 * What a plan is called beside others: no more than it keeps. What was wished for would not do as a name, as one wish can
 * lead to filled gaps, to a track that slides, or to straights laid anew.
 */
export function planName(one: PlanWithoutAlternatives, all: readonly PlanWithoutAlternatives[]): string {
  const name = ownName(one);
  const rival = all.find((other) => other !== one && ownName(other) === name);
  if (rival === undefined) return name;
  const [cuts, sections] = [cutsOf(one), one.changedSections];
  if (cutsOf(rival) !== cuts) return `${name}: ${cuts} ${cuts === 1 ? 'cut' : 'cuts'}`;
  return sections === undefined ? name : `${name}: ${sections} ${sections === 1 ? 'section' : 'sections'} changed`;
}

function ownName(one: PlanWithoutAlternatives): string {
  const kind = one.kind ?? one.prefer;
  if (kind === 'slide-together' || kind === 'take-up') return otherWayTexts[kind];
  if (kind !== 'largest-loop') return deedOf(one);
  // A loop that was not proved the largest is the largest found.
  return one.search?.proved === false ? 'Use the table: the largest loop that was found' : preferenceTexts[kind];
}

/** `Slide the whole track, fill its gaps`: what is done to the track. */
function deedOf({ shift, stretches, fillers }: PlanWithoutAlternatives): string {
  const runs = Object.keys(shift);
  const moved = runs.filter((run) => Math.hypot(...shift[run]) > staysMm);
  const slide = moved.length === runs.length ? 'Slide the whole track' : `Slide ${moved.join(', ')}`;
  if (stretches.some(isLaidAnew)) {
    if (moved.length > 0) return `${slide}, lay straights anew`;
    return stretches.every(keepsLength) ? 'Exchange straights, all else stays' : 'Lay straights anew';
  }
  if (moved.length > 0) return fillers.length > 0 ? `${slide}, fill the gaps` : slide;
  return fillers.length > 0 ? 'Fill the gaps, all else stays' : 'Leave all as it lies';
}

function keepsLength({ nowMm, thenMm }: Stretch): boolean {
  return Math.abs(thenMm - nowMm) <= sameLengthMm;
}

/** Runs that come out longer or shorter than they lie, filled gaps counted as they are: `24 in shorter`. */
export function lengthChanges(
  { stretches }: PlanWithoutAlternatives,
  style: LengthStyle,
): { readonly run: string; readonly text: string }[] {
  return [...new Set(stretches.map((s) => s.run))].flatMap((run) => {
    const addedMm = stretches.filter((s) => s.run === run).reduce((mm, s) => mm + s.thenMm - s.nowMm, 0);
    if (Math.abs(addedMm) <= sameLengthMm) return [];
    return [{ run, text: `${formatLength(Math.abs(addedMm), style)} ${addedMm > 0 ? 'longer' : 'shorter'}` }];
  });
}

/** What makes a plan fit without fillers; empty where there is nothing to be done to the straights. */
export function fitsWithoutFillers({ stretches }: PlanWithoutAlternatives): string {
  const laid = stretches.filter(isLaidAnew);
  if (laid.length === 0) return '';
  return laid.every(onlySlides)
    ? 'Every piece stays, and the track slides together until the gaps are closed.'
    : 'Straights laid anew make it fit.';
}

/** What to do where nothing is cut. */
export function uncutText({ stretches }: PlanWithoutAlternatives): string {
  const laid = stretches.filter(isLaidAnew);
  if (laid.length === 0) return 'Nothing to cut: slide the track as drawn.';
  if (laid.every(onlySlides)) return 'Nothing to cut: every piece stays, and the track slides together.';
  if (!laid.every(isOfItsPieces))
    return 'Nothing to cut: straights are laid anew, and the track slides together. Look at it to see which.';
  const out = laid.flatMap(takenOut).length;
  const which = out === 1 ? '1 straight comes out' : `${out} straights come out`;
  return `Nothing to cut: ${which}, and the track slides together. Look at it to see which.`;
}
