import type { ResidualSink } from '../../linalg/least-squares.js';
import type { Arc, LineObservation } from '../../scene/track-observation.js';

/** Curves of one layout that were made to one radius: arcs of the adjustment. */
export interface CurveFamily {
  readonly arcs: readonly number[];
  /** What sections of one radius differ by, a share of their curvature, standard uncertainty. */
  readonly uShare: number;
}

/** Track comes in sections of few radii, each bent on one former (common practice, no source); how alike, from memory. */
const madeAlikeShare = 0.004;

/** Fewer arcs, or less length together, may have a radius in common by chance. */
const leastArcs = 3;
const leastLengthMm = 400;

/** Standard uncertainty of one place on an arc, across it, and the length over which such errors are one and the same. */
const acrossUMm = 0.25;
const sameErrorMm = 30;

/** What a joint within an arc may be askew, rad: most lie at joints, and a joint may have gone unseen. */
const kinkURad = 0.003;

/** A larger radius than this is no curve of a section: it is a straight with a kink. */
const largestRadiusMm = 1500;

interface SeenCurve {
  readonly arc: number;
  readonly curvature: number;
  readonly u: number;
  readonly lengthMm: number;
}

/**
 * Finds which curves have a radius in common: the radius that most of the curves' length agrees with, then of the rest.
 * @param straight for each arc, true when it is held straight
 */
export function curveFamilies(
  arcs: readonly Arc[],
  straight: readonly boolean[],
  observations: readonly LineObservation[],
): CurveFamily[] {
  const curves = seenCurves(arcs, straight, observations);
  const radii: number[] = [];
  let left: readonly SeenCurve[] = curves;
  for (let family = largestFamily(left); family; family = largestFamily(left)) {
    radii.push(mean(family));
    const members = family;
    left = left.filter((c) => !members.includes(c));
  }
  // A short curve may agree with two radii, or with none as a straight does: it tells nothing then, and is left free.
  const only = curves.filter((c) => [0, ...radii].filter((r) => agrees(c, r)).length === 1);
  return radii.map((r) => ({ arcs: only.filter((c) => agrees(c, r)).map((c) => c.arc), uShare: madeAlikeShare }));
}

function seenCurves(
  arcs: readonly Arc[],
  straight: readonly boolean[],
  observations: readonly LineObservation[],
): SeenCurve[] {
  const from = arcs.map(() => Number.POSITIVE_INFINITY);
  const to = arcs.map(() => Number.NEGATIVE_INFINITY);
  for (const { arc, s, kind } of observations) {
    if (kind !== 'rail') continue;
    from[arc] = Math.min(from[arc], s);
    to[arc] = Math.max(to[arc], s);
  }
  return arcs.flatMap(({ curvaturePerMm }, arc) => {
    const lengthMm = to[arc] - from[arc];
    const curvature = Math.abs(curvaturePerMm);
    if (straight[arc] || !(lengthMm > sameErrorMm) || curvature < 1 / largestRadiusMm) return [];
    // Least squares of a parabola's bend over evenly spread places (Draper and Smith, Applied Regression Analysis, from memory).
    const seen = Math.sqrt(720 / (lengthMm / sameErrorMm)) * (acrossUMm / lengthMm ** 2);
    return [{ arc, curvature, u: Math.hypot(seen, kinkURad / lengthMm), lengthMm }];
  });
}

function largestFamily(curves: readonly SeenCurve[]): readonly SeenCurve[] | null {
  let best: { members: readonly SeenCurve[]; lengthMm: number } | null = null;
  for (const { curvature } of curves) {
    const near = mean(curves.filter((c) => agrees(c, curvature)));
    const members = curves.filter((c) => agrees(c, near));
    const lengthMm = members.reduce((sum, c) => sum + c.lengthMm, 0);
    if (members.length < leastArcs || lengthMm < leastLengthMm) continue;
    if (!best || lengthMm > best.lengthMm) best = { members, lengthMm };
  }
  return best ? best.members : null;
}

function agrees(curve: SeenCurve, curvature: number): boolean {
  return Math.abs(curve.curvature - curvature) < 2.5 * Math.hypot(curve.u, madeAlikeShare * curvature);
}

function mean(curves: readonly SeenCurve[]): number {
  let sum = 0;
  let weights = 0;
  for (const { curvature, u } of curves) {
    sum += curvature / u ** 2;
    weights += 1 / u ** 2;
  }
  return sum / weights;
}

/**
 * Sinks, for each curve of a family, how far its curvature is from the family's mean: (|k| − mean |k|) / (share · mean).
 * @param places where each arc's (x, y, heading, curvature) stands among the parameters
 */
export function sameRadiusResiduals(
  { arcs: members, uShare }: CurveFamily,
  arcs: readonly Arc[],
  places: readonly number[],
  sink: ResidualSink,
): void {
  const n = members.length;
  const hands = members.map((m) => Math.sign(arcs[m].curvaturePerMm));
  const sizes = members.map((m) => Math.abs(arcs[m].curvaturePerMm));
  const average = sizes.reduce((a, b) => a + b, 0) / n;
  const index = members.map((m) => places[m] + 3);
  for (let i = 0; i < n; i++) {
    // r = (size_i / average − 1) / share
    const derivatives = members.map(
      (_, j) => (hands[j] * ((i === j ? 1 : 0) / average - sizes[i] / (n * average ** 2))) / uShare,
    );
    sink((sizes[i] / average - 1) / uShare, index, derivatives, n);
  }
}
