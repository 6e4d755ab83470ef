import { assert } from '../../base/assert.js';
import { choleskyInPlace } from '../../linalg/cholesky.js';

/** Light along a column about an end, as a sum of levels that go over into each other at known distances from the end. */
export interface EndLevels {
  /** How far beyond the end each level gives way to the next, millimetres, from 0 on. */
  readonly edgesMm: readonly number[];
  /** True where the rail's light may change evenly towards the end. */
  readonly drift: boolean;
  /** How many times white the rail's light would be, had the photo not cut it off: blurred, it stays white beyond the end. */
  readonly timesWhite: number;
}

/**
 * Standard deviation of the way in which one level goes over into the next: the blur of most photos and of unrolling, and
 * what levels leave out. Of 0.5 to 0.95 it is the one with which drawn gaps are read best.
 */
const blurSigmaMm = 0.8;

/**
 * The logistic curve that is nearest to the normal one of unit standard deviation falls this much faster than the plain one:
 * Camilli 1994, J. Educ. Behav. Stat. 19:293, from memory.
 */
const logisticOfNormal = 1.702;

/** Levels between the rail and what is beyond it are held together, as much as this many samples do. */
const evenLevels = 0.1;

/** Drift of the rail's light over its two last millimetres is held at nothing, as much as one sample of it does. */
const driftMm = 2;
const noDrift = 1;

/**
 * What takes the levels' share out of samples: functions of the places that are orthogonal in the sense of the least
 * squares with what holds the levels. The squares that are left are those of the samples less those of their products
 * with each of these.
 * @param placesMm where samples lie, beyond a rough end
 * @param endMm where the end is supposed, beyond the rough end
 */
export function levelFunctions(
  { edgesMm, drift, timesWhite }: EndLevels,
  placesMm: readonly number[],
  endMm: number,
): Float64Array[] {
  const functions = edgesMm.map(() => new Float64Array(placesMm.length));
  functions.push(new Float64Array(placesMm.length));
  if (drift) functions.push(new Float64Array(placesMm.length));
  placesMm.forEach((place, i) => {
    let before = 0;
    edgesMm.forEach((edge, m) => {
      const blurred = 1 / (1 + Math.exp((logisticOfNormal * (place - endMm - edge)) / blurSigmaMm));
      // What is white hides what is beyond it.
      const upTo = m === 0 ? Math.min(1, timesWhite * blurred) : Math.max(before, blurred);
      functions[m][i] = upTo - before;
      before = upTo;
    });
    functions[edgesMm.length][i] = 1 - before;
    if (drift) functions[edgesMm.length + 1][i] = (functions[0][i] * Math.min(0, place - endMm)) / driftMm;
  });
  const n = functions.length;
  const normal = Float64Array.from({ length: n * n }, (_, i) =>
    productOf(functions[Math.floor(i / n)], functions[i % n]),
  );
  for (let m = 0; m < n; m++) normal[m * (n + 1)] += tiny;
  for (let m = 1; m < edgesMm.length; m++) {
    normal[m * (n + 1)] += evenLevels;
    normal[(m + 1) * (n + 1)] += evenLevels;
    normal[(m + 1) * n + m] -= evenLevels;
  }
  if (drift) normal[n * n - 1] += noDrift;
  assert(choleskyInPlace(normal, n), 'levels that are held have a factor', normal);
  // Forward substitution, in place.
  functions.forEach((f, r) => {
    for (let k = 0; k < r; k++) for (let i = 0; i < f.length; i++) f[i] -= normal[r * n + k] * functions[k][i];
    for (let i = 0; i < f.length; i++) f[i] /= normal[r * (n + 1)];
  });
  return functions;
}

/** The functions of some levels for the end at each of several places. */
export type LevelsAtEach = (levels: EndLevels) => readonly Float64Array[][];

/** Remembers the functions of all levels that were asked for: columns and rails that look alike share them. */
export function rememberedLevels(placesMm: readonly number[], endsMm: readonly number[]): LevelsAtEach {
  const known = new Map<string, Float64Array[][]>();
  return (levels) => {
    const name = `${levels.edgesMm.join()} ${levels.drift} ${levels.timesWhite}`;
    let functions = known.get(name);
    if (!functions) {
      functions = endsMm.map((end) => levelFunctions(levels, placesMm, end));
      known.set(name, functions);
    }
    return functions;
  };
}

/** Levels that no sample tells are held at nothing, ever so little. */
const tiny = 1e-6;

export function productOf(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}
