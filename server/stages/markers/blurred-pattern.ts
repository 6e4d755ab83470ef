import { normalCdf, normalDensity } from '../../images/normal-curve.js';
import { CODE_SIDE } from './tag-family.js';

/** Most modules along one side, border of two included. */
const MOST_MODULES = CODE_SIDE + 4;
/** Share of each module along a and b, its derivative by the place in modules, and by the blur in modules. */
const shareA = {
  value: new Float64Array(MOST_MODULES),
  slope: new Float64Array(MOST_MODULES),
  widen: new Float64Array(MOST_MODULES),
};
const shareB = {
  value: new Float64Array(MOST_MODULES),
  slope: new Float64Array(MOST_MODULES),
  widen: new Float64Array(MOST_MODULES),
};

function fillShares(shares: typeof shareA, place: number, blur: number, modules: number): void {
  const { value, slope, widen } = shares;
  const perBlur = 1 / blur;
  let z = -place * perBlur;
  let before = normalCdf(z);
  let density = normalDensity(z);
  let moment = z * density;
  for (let i = 0; i < modules; i++) {
    z += perBlur;
    const after = normalCdf(z);
    const nextDensity = normalDensity(z);
    const nextMoment = z * nextDensity;
    value[i] = after - before;
    slope[i] = (density - nextDensity) * perBlur;
    widen[i] = (moment - nextMoment) * perBlur;
    before = after;
    density = nextDensity;
    moment = nextMoment;
  }
}

/** Share of black at a place of the tag, its derivatives by the place in modules, and by the logarithm of the blur. */
export const pattern = { dark: 0, byA: 0, byB: 0, byBlur: 0 };

/** Gauss–Hermite rule of three nodes for a standard normal variable (Abramowitz and Stegun 25.4.46). */
const NODES = [0, Math.sqrt(3), -Math.sqrt(3)];
const NODE_WEIGHTS = [2 / 3, 1 / 6, 1 / 6];

/**
 * Round blur in the photo is, seen on a tilted tag, an oval askew to the modules. Its variance is taken as a part along
 * the modules' sides, where the pattern's blur is a product of two curves, and a part along one diagonal, averaged.
 * The answer is left in `pattern`.
 * @param black 1 where a module is black, row by row
 * @param placeA place in modules from the tag's left rim; `placeB` from its upper one
 * @param blurA standard deviation of the blur along a, modules; `blurB` along b
 * @param correlation of the blur's displacements along a and b
 */
export function blurredPattern(
  modules: number,
  black: Uint8Array,
  placeA: number,
  placeB: number,
  blurA: number,
  blurB: number,
  correlation: number,
): void {
  const askew = Math.abs(correlation);
  const straight = Math.sqrt(1 - askew);
  const stepA = Math.sqrt(askew) * blurA;
  const stepB = Math.sign(correlation) * Math.sqrt(askew) * blurB;
  pattern.dark = 0;
  pattern.byA = 0;
  pattern.byB = 0;
  pattern.byBlur = 0;
  const nodes = askew < LEAST_CORRELATION ? 1 : 3;
  for (let k = 0; k < nodes; k++) {
    const moveA = NODES[k] * stepA;
    const moveB = NODES[k] * stepB;
    const weight = nodes === 1 ? 1 : NODE_WEIGHTS[k];
    addPattern(
      modules,
      black,
      placeA + moveA,
      placeB + moveB,
      straight * blurA,
      straight * blurB,
      moveA,
      moveB,
      weight,
    );
  }
}

/** Below this the blur is taken as straight. */
const LEAST_CORRELATION = 0.02;

function addPattern(
  modules: number,
  black: Uint8Array,
  placeA: number,
  placeB: number,
  blurA: number,
  blurB: number,
  moveA: number,
  moveB: number,
  weight: number,
): void {
  fillShares(shareA, placeA, blurA, modules);
  fillShares(shareB, placeB, blurB, modules);
  let dark = 0;
  let byA = 0;
  let byB = 0;
  let byBlur = 0;
  for (let row = 0; row < modules; row++) {
    const along = shareB.value[row];
    if (along < 1e-9 && Math.abs(shareB.slope[row]) < 1e-9) continue;
    let value = 0;
    let slope = 0;
    let widen = 0;
    for (let column = 0; column < modules; column++) {
      if (!black[row * modules + column]) continue;
      value += shareA.value[column];
      slope += shareA.slope[column];
      widen += shareA.widen[column];
    }
    dark += along * value;
    byA += along * slope;
    byB += shareB.slope[row] * value;
    byBlur += along * widen * blurA + shareB.widen[row] * value * blurB;
  }
  pattern.dark += weight * dark;
  pattern.byA += weight * byA;
  pattern.byB += weight * byB;
  pattern.byBlur += weight * (byBlur + byA * moveA + byB * moveB);
}
