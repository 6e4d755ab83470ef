import { type CurveProfiles, middleOf } from './curve-profiles.js';
import { type EdgeProfile, emptyProfile } from './edge-profile.js';
import { evaluatePolynomial, fitPolynomial } from './polynomial.js';
import { fitStep, type StepFit, type Workspace } from './step-fit.js';

/** A stretch of a side with the mean of its profiles. */
export interface SideSegment {
  /** s/alongMm of its middle. */
  readonly along: number;
  readonly profile: EdgeProfile;
}

const segments = 8;
/** Blurs tried: which one it is decides how wide a thin layer seems. */
export const blursPx = [0.4, 0.55, 0.75, 1, 1.4] as const;
const colourBlurPx = 1.5;
const windowPx = 5;

/** A side cut into eight stretches; none when too little of it is in the picture. */
export function segmentsOf({ places, profiles }: CurveProfiles, reachPx: number): readonly SideSegment[] {
  if (places.length < 3 * segments) return [];
  const perSegment = Math.floor(places.length / segments);
  return Array.from({ length: segments }, (_, k) => {
    const from = k * perSegment;
    const some = profiles.slice(from, from + perSegment);
    return { along: places[from + (perSegment >> 1)].along, profile: meanProfile(some, reachPx) };
  });
}

function meanProfile(profiles: readonly EdgeProfile[], reachPx: number): EdgeProfile {
  const mean = emptyProfile(reachPx);
  for (const profile of profiles) {
    const { values } = middleOf(profile, reachPx);
    for (let i = 0; i < mean.values.length; i++) mean.values[i] += values[i] / profiles.length;
  }
  return mean;
}

/** Misfit of the best single step on the curve in each segment, blurred as by a Gaussian; null where none is found. */
export function singleMisfits(w: Workspace, list: readonly SideSegment[]): (number | null)[] {
  return list.map(({ profile }) => {
    const misfits = blursPx.flatMap((blurPx) => {
      const model = { blurPx, colourBlurPx, windowPx: windowPx + 2, secondPx: null };
      return fitStep(w, profile, 0, model)?.misfit ?? [];
    });
    return misfits.length > 0 ? Math.min(...misfits) : null;
  });
}

/**
 * The best of the fits of two steps that start on the curve or at `otherStart`.
 * @param takenShare see `StepModel`
 */
export function fitPair(
  w: Workspace,
  segment: SideSegment,
  secondPx: number,
  otherStart: number,
  blurPx: number,
  takenShare?: number,
): StepFit | null {
  const model = { blurPx, colourBlurPx, windowPx, secondPx, takenShare };
  let best: StepFit | null = null;
  for (const start of [0, otherStart]) {
    const fit = fitStep(w, segment.profile, start, model);
    if (fit && (!best || fit.misfit < best.misfit)) best = fit;
  }
  return best;
}

/** Two steps fitted to each segment, and by how much they fit better than one, in the middle of the segments. */
export interface PairFits {
  readonly fits: readonly (StepFit | null)[];
  readonly gain: number;
}

/**
 * Fits two steps segment by segment; null once they can no longer gain so much in the middle of the segments.
 * @param without misfit of each segment's best single step
 */
export function pairsGaining(
  least: number,
  list: readonly SideSegment[],
  without: readonly (number | null)[],
  fitOf: (segment: SideSegment, index: number) => StepFit | null,
): PairFits | null {
  const fits: (StepFit | null)[] = [];
  const gains: number[] = [];
  let poor = 0;
  for (const [i, segment] of list.entries()) {
    const fit = fitOf(segment, i);
    const gain = fit ? (without[i] ?? fit.misfit + 3) - fit.misfit : -3;
    fits.push(fit);
    gains.push(gain);
    if (gain < least && ++poor > list.length >> 1) return null;
  }
  return { fits, gain: median(gains) };
}

/** How high the second step is compared with the first, in the middle of the segments. */
export function ratioOf(fits: readonly (StepFit | null)[]): number {
  const seen = fits.filter((f) => f !== null);
  return seen.length ? median(seen.map((f) => f.secondRatio)) : Number.NaN;
}

/** Straight line through the steps' places (polynomial of s/alongMm); far ones lose their weight. */
export function robustLine(list: readonly SideSegment[], fits: readonly (StepFit | null)[]): number[] | null {
  const x: number[] = [];
  const y: number[] = [];
  fits.forEach((f, i) => {
    if (!f) return;
    x.push(list[i].along);
    y.push(f.atPx);
  });
  if (x.length < segments / 2) return null;
  let line: number[] | null = [median(y)];
  for (let round = 0; round < 8; round++) {
    const l: number[] = line;
    const weight = y.map((v, i) => 1 / (1 + ((v - evaluatePolynomial(l, x[i])) / 0.5) ** 2) ** 2);
    line = fitPolynomial(x, y, weight, round < 3 ? 0 : 1);
    if (!line) return null;
  }
  return line;
}

/** Do most of the segments show the step on the line, within 0.8 px? */
export function agreeing(
  list: readonly SideSegment[],
  fits: readonly (StepFit | null)[],
  line: readonly number[],
): boolean {
  const near = fits.filter((f, i) => f && Math.abs(f.atPx - evaluatePolynomial(line, list[i].along)) < 0.8).length;
  return near >= 0.75 * list.length;
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1];
}
