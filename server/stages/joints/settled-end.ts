import { rememberedLevels } from './end-levels.js';
import {
  type EndLikelihood,
  endLikelihood,
  samplePlaces,
  weighedMm,
  weighedReachMm,
  weighedStepMm,
} from './end-likelihood.js';
import { type SectionEnd, usualSkew } from './rail-end.js';
import type { RailPart } from './rail-parts.js';

/** How far the end that was found first may lie from the true one, standard deviation. */
const foundSpreadMm = 0.4;

/** How far each rail's own end lies from the straight across the track that all of them have in common: the scale of a t. */
const ownScaleMm = 0.1;

/** The rails of a section lie in one light and rust alike: together they tell less than if each erred by itself. */
const togetherShare = 0.7;

/** Slopes of the end across the track that are weighed; loose track is not cut more askew. */
const slopes = [-2, -1, 0, 1, 2].map((n) => 0.5 * n * usualSkew);

/** What all ends of a section may be read too long or too short alike: of 163 drawn gaps 97 % are then within 95 % intervals. */
const endUMm = 0.07;

/**
 * Settles where the rails of a section end, and how well that is known: by how likely each head and flange ends at each
 * place about the end that was found, most of them at one straight across the track and some of them astray. Where they
 * do not agree the uncertainty says so.
 * @param found the end found by `findSectionEnd` in these views
 * @param towards +1 when the rails end in the direction of growing s
 * @param beyondMm how much of the gap there is to look at
 */
export function settleEnd(
  views: readonly RailPart[],
  found: SectionEnd,
  towards: 1 | -1,
  beyondMm: number,
): SectionEnd {
  let { at } = found;
  let settled = settledNear(views, found, towards, beyondMm);
  const moves = found.clearness > clearAsCanBe ? 0 : mostMoves;
  for (let moved = 0; moved < moves && settled.liesBeyond !== 0; moved++) {
    at += settled.liesBeyond * towards * movedMm;
    settled = settledNear(views, { ...found, at }, towards, beyondMm);
  }
  return settled.end;
}

/**
 * An end that is not as clear as can be is not where it was found, but rust, a shadow or a lit end face is, where most heads
 * end most likely so far from there, and the flanges on that side of it by so much unless they hardly tell (logarithms of
 * what is likely over what is not): then the places about one nearer to the heads' are weighed, so many times at most.
 */
const clearAsCanBe = 0.95;
const headsFarMm = 1.25;
const headTells = 0.7;
const flangesTooMm = 0.5;
const flangesSilent = 2.1;
const movedMm = 1.5;
const mostMoves = 2;

/** The same, of an end within reach; and whether the rails end beyond that: 1 farther on, −1 farther back, 0 if they do not. */
function settledNear(
  views: readonly RailPart[],
  found: SectionEnd,
  towards: 1 | -1,
  beyondMm: number,
): { readonly end: SectionEnd; readonly liesBeyond: 1 | -1 | 0 } {
  const placesMm = samplePlaces(views[0].strip.stepMm, beyondMm);
  const levels = rememberedLevels(placesMm, weighedMm);
  const parts = views.map((view) => endLikelihood(view, found.at, towards, placesMm, levels)).filter((p) => p !== null);
  if (parts.length === 0) return { end: { ...found, uMm: Math.hypot(found.uMm, foundSpreadMm) }, liesBeyond: 0 };
  const logs = slopes.map((slope) =>
    weighedMm.map((mm) =>
      parts.reduce(
        (sum, part) => sum + togetherShare * logAt(part, mm + towards * slope * part.acrossMm),
        -((mm / foundSpreadMm) ** 2 + (slope / usualSkew) ** 2) / 2,
      ),
    ),
  );
  const most = Math.max(...logs.flat());
  let [sum, sumMm, sumSquares, sumSlope] = [0, 0, 0, 0];
  logs.forEach((own, n) => {
    own.forEach((log, i) => {
      const weight = Math.exp(log - most);
      sum += weight;
      sumMm += weight * weighedMm[i];
      sumSquares += weight * weighedMm[i] ** 2;
      sumSlope += weight * slopes[n];
    });
  });
  const meanMm = sumMm / sum;
  const varianceMm2 = Math.max(0, sumSquares / sum - meanMm * meanMm);
  const rails = found.rails.map((_, rail) => {
    const own = parts.filter((part) => part.rail === rail);
    if (own.length === 0) return null;
    return found.at + towards * meanEndOfRail(own, meanMm + (towards * sumSlope * own[0].acrossMm) / sum);
  });
  const end = {
    at: found.at + towards * meanMm,
    uMm: Math.hypot(Math.sqrt(varianceMm2), endUMm),
    rails,
    clearness: found.clearness,
  };
  return { end, liesBeyond: liesBeyond(parts) };
}

/** Whether heads, and flanges unless they hardly tell, put the end beyond the places that are weighed: see `settledNear`. */
function liesBeyond(parts: readonly EndLikelihood[]): 1 | -1 | 0 {
  const told = parts.map(({ part, log }) => {
    const most = Math.max(...log);
    return { part, mm: weighedMm[log.indexOf(most)], told: most - Math.min(...log) };
  });
  const heads = told.filter(({ part }) => part === 'head');
  const flanges = told.filter(({ part }) => part === 'flange');
  const flangesTell = flanges.reduce((sum, { told }) => sum + told, 0);
  const flangesMm = flanges.reduce((sum, { mm, told }) => sum + mm * told, 0) / flangesTell;
  for (const side of [1, -1] as const) {
    const far = heads.filter(({ mm, told }) => told > headTells && side * mm > headsFarMm);
    if (far.length <= heads.length / 2) continue;
    if (flangesTell < flangesSilent || side * flangesMm > flangesTooMm) return side;
  }
  return 0;
}

/** Mean place of one rail's own end, near the end that all rails have in common. */
function meanEndOfRail(parts: readonly EndLikelihood[], commonMm: number): number {
  const logs = weighedMm.map((mm, i) =>
    parts.reduce((sum, part) => sum + part.log[i], logStudent((mm - commonMm) / ownScaleMm)),
  );
  const most = Math.max(...logs);
  const weights = logs.map((log) => Math.exp(log - most));
  const sum = weights.reduce((a, b) => a + b);
  return weights.reduce((total, weight, i) => total + weight * weighedMm[i], 0) / sum;
}

/** Logarithm of Student's t of three degrees of freedom, but for a constant. */
const logStudent = (t: number): number => -2 * Math.log1p((t * t) / 3);

/** A part's logarithm between the places that are weighed. */
function logAt({ log }: EndLikelihood, mm: number): number {
  const q = Math.max(0, Math.min(log.length - 1.001, (mm + weighedReachMm) / weighedStepMm));
  const i = Math.floor(q);
  return log[i] + (q - i) * (log[i + 1] - log[i]);
}
