import { alongMm } from './edge-places.js';
import { evaluatePolynomial } from './polynomial.js';
import type { SidePath } from './side-path.js';
import type { OutlineLine } from './table-lines.js';

/** A side of the chosen outline: a path, and from where to where on its line it runs (mm; infinite without a corner). */
export interface OutlineSide {
  readonly path: SidePath;
  readonly fromMm: number;
  readonly toMm: number;
  /** Mean evidence on that stretch. */
  readonly evidence: number;
}

/** A path with what is needed to weigh it quickly. */
export interface WeighedPath {
  readonly path: SidePath;
  /** The straight line nearest to the path. */
  readonly fitted: OutlineLine;
  /** Running sums of evidence times photo length, and of photo length; one longer than the places. */
  readonly evidenceSum: Float64Array;
  readonly lengthSum: Float64Array;
  /** Largest sum of any stretch. */
  readonly most: number;
}

/** Sides of a table top are square to each other within this; a camera that is only near adds to it. */
const squareWithinRad = (3.5 * Math.PI) / 180;
const perDirection = 7;
const orientationsTried = 6;

/** @param mmPerPx of the photo near a place on the path */
export function weighPath(path: SidePath, mmPerPx: number): WeighedPath {
  const { count, sMm, lengthPx } = path.inPhoto;
  const evidenceSum = new Float64Array(count + 1);
  const lengthSum = new Float64Array(count + 1);
  let most = 0;
  let run = 0;
  for (let i = 0; i < count; i++) {
    const gain = path.evidence[i] * lengthPx[i];
    evidenceSum[i + 1] = evidenceSum[i] + gain;
    lengthSum[i + 1] = lengthSum[i] + lengthPx[i];
    run = Math.max(0, run + gain);
    most = Math.max(most, run);
  }
  // The chord: straight-line fit of the shift over the places with evidence.
  let w = 0;
  let wx = 0;
  let wy = 0;
  let wxx = 0;
  let wxy = 0;
  for (let i = 0; i < count; i++) {
    const weight = Math.max(path.evidence[i], 0) + 1e-9;
    const x = sMm[i];
    const y = evaluatePolynomial(path.shiftPx, x / alongMm) * mmPerPx;
    w += weight;
    wx += weight * x;
    wy += weight * y;
    wxx += weight * x * x;
    wxy += weight * x * y;
  }
  const slope = (w * wxy - wx * wy) / Math.max(w * wxx - wx * wx, 1e-9);
  const turn = Math.atan(slope);
  const { thetaRad, rhoMm } = path.line;
  const fitted = { thetaRad: thetaRad - turn, rhoMm: (rhoMm + (wy - slope * wx) / w) * Math.cos(turn) };
  return { path, fitted, evidenceSum, lengthSum, most };
}

/** Keeps the better of two paths that follow the same edge. */
export function withoutTwins(paths: readonly WeighedPath[]): WeighedPath[] {
  const kept: WeighedPath[] = [];
  for (const p of [...paths].sort((a, b) => b.most - a.most)) {
    const twin = kept.some(
      (k) => turnBetween(k.fitted.thetaRad, p.fitted.thetaRad) < 0.02 && Math.abs(k.fitted.rhoMm - p.fitted.rhoMm) < 4,
    );
    if (!twin) kept.push(p);
  }
  return kept;
}

function turnBetween(a: number, b: number): number {
  return Math.abs(Math.atan2(Math.sin(a - b), Math.cos(a - b)));
}

/** Where line b crosses line a, as the distance along a. */
function crossingOn(a: OutlineLine, b: OutlineLine): number {
  const turn = b.thetaRad - a.thetaRad;
  return (b.rhoMm - a.rhoMm * Math.cos(turn)) / Math.sin(turn);
}

function indexAt(sMm: Float64Array, s: number): number {
  let low = 0;
  let high = sMm.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sMm[middle] < s) low = middle + 1;
    else high = middle;
  }
  return low;
}

interface Stretch {
  readonly gain: number;
  readonly length: number;
  readonly fromMm: number;
  readonly toMm: number;
}

function stretchOf(side: WeighedPath, before: WeighedPath | null, after: WeighedPath | null): Stretch {
  const fromMm = before ? crossingOn(side.fitted, before.fitted) : Number.NEGATIVE_INFINITY;
  const toMm = after ? crossingOn(side.fitted, after.fitted) : Number.POSITIVE_INFINITY;
  const { sMm } = side.path.inPhoto;
  const a = indexAt(sMm, fromMm);
  const b = Math.max(a, indexAt(sMm, toMm));
  return {
    gain: side.evidenceSum[b] - side.evidenceSum[a],
    length: side.lengthSum[b] - side.lengthSum[a],
    fromMm,
    toMm,
  };
}

type Choice = readonly (WeighedPath | null)[];

function gainOf(choice: Choice, leastGainPx: number): number {
  let total = 0;
  for (let k = 0; k < 4; k++) {
    const side = choice[k];
    if (side) total += stretchOf(side, choice[(k + 3) % 4], choice[(k + 1) % 4]).gain - leastGainPx;
  }
  return total;
}

/** The best four sides (some of them perhaps none) with outward normals a quarter turn apart. */
function bestForOrientation(
  classes: readonly (readonly WeighedPath[])[],
  leastGainPx: number,
): { choice: Choice; gain: number } {
  const options = classes.map((c) => [null, ...c]);
  let best: { choice: Choice; gain: number } = { choice: [null, null, null, null], gain: 0 };
  for (const a of options[0])
    for (const b of options[1])
      for (const c of options[2])
        for (const d of options[3]) {
          const choice = [a, b, c, d];
          const gain = gainOf(choice, leastGainPx);
          if (gain > best.gain) best = { choice, gain };
        }
  return best;
}

/**
 * Chooses the sides whose stretches between their corners have the most evidence, counter-clockwise.
 * @param leastGainPx photo length of full evidence that a side must show to be believed
 * @returns none where no side is believed; the gain is the photo length of full evidence that the sides have beyond that
 */
export function chooseOutline(
  paths: readonly WeighedPath[],
  leastGainPx: number,
): { sides: OutlineSide[]; gainPx: number } {
  const orientations: { classes: WeighedPath[][]; hope: number }[] = [];
  for (let degrees = 0; degrees < 90; degrees++) {
    const classes = [0, 1, 2, 3].map((k) => {
      const theta = ((degrees + 90 * k) * Math.PI) / 180;
      return paths.filter((p) => turnBetween(p.fitted.thetaRad, theta) < squareWithinRad).slice(0, perDirection);
    });
    const hope = classes.reduce((sum, c) => sum + (c[0]?.most ?? 0), 0);
    orientations.push({ classes, hope });
  }
  orientations.sort((a, b) => b.hope - a.hope);
  let best: { choice: Choice; gain: number } | null = null;
  for (const { classes } of orientations.slice(0, orientationsTried)) {
    const found = bestForOrientation(classes, leastGainPx);
    if (!best || found.gain > best.gain) best = found;
  }
  if (!best) return { sides: [], gainPx: 0 };
  const { choice } = best;
  const sides: OutlineSide[] = [];
  for (let k = 0; k < 4; k++) {
    const side = choice[k];
    if (!side) continue;
    const s = stretchOf(side, choice[(k + 3) % 4], choice[(k + 1) % 4]);
    sides.push({ path: side.path, fromMm: s.fromMm, toMm: s.toMm, evidence: s.length > 0 ? s.gain / s.length : 0 });
  }
  return { sides, gainPx: best.gain };
}
