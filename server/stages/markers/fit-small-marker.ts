import { lightOfPixel } from '../../images/linear-light.js';
import { normalCdf, normalDensity } from '../../images/normal-curve.js';
import type { Raster } from '../../images/raster.js';
import { type ResidualSink, solveLeastSquares } from '../../linalg/least-squares.js';
import { type MarkerFrame, startMarker } from './marker-model.js';
import type { MarkerSolution } from './marker-solve.js';
import { CODE_SIDE } from './tag-family.js';
import { mapX, mapY, shortestSidePx } from './tag-plane.js';

/** Order of the unknowns: 8 of the homography, blur (px), spread (px), black and white as planes over the tag. */
const BLUR = 8;
const SPREAD = 9;
const BLACK = 10;
const WHITE = 13;
const UNKNOWNS = 16;

const MOST_PIXELS = 2500;
/**
 * Paper around the square that takes part, modules. A tag's white margin may be one module wide, so what lies beyond must
 * stay two standard deviations of the blur away.
 */
const MOST_RING_MODULES = 0.8;
const LEAST_RING_MODULES = 0.25;
const USUAL_BLUR_PX = 0.8;
/** Share of itself by which the blur may well differ from the one given. */
const BLUR_SIGMA = 0.7;
const SPREAD_SIGMA_PX = 0.2;
/** See edge-fit: noise falls with light no further than this, and goes with light to this power. */
const DARKEST_LIGHT = 0.02;
const SLOPE_POWER = 1.4 / 2.4;
/** Neighbouring pixels share noise (demosaicing, JPEG): as if there were this many fewer. */
const SHARED_NOISE = 1.5;
/** What print, paper and lens add, px (common practice, no source). */
const LEAST_SIGMA_PX = 0.02;
/** Residuals farther off than so many standard deviations count as this. */
const MOST_OFF = 8;

/**
 * Fits a small marker, whose modules are too few pixels wide for edges of their own, as a whole: every pixel on it is
 * compared with the tag's pattern under a homography, blurred by a Gaussian, in linear light, between black and white
 * that change evenly over the tag (Levenberg–Marquardt, Huber loss). About 20 ms a marker.
 * @param quad corners good to a third of a module, tag order, px
 * @param blurPx roughly, where it is known
 */
export function fitSmallMarker(
  raster: Raster,
  quad: Float64Array,
  grid: ArrayLike<number>,
  borderModules: 1 | 2,
  blurPx = USUAL_BLUR_PX,
): MarkerSolution | null {
  const start = startMarker(quad);
  if (start === null) return null;
  const modules = CODE_SIDE + 2 * borderModules;
  const ring = 1 - (2 * blurPx * modules) / shortestSidePx(quad);
  const ringModules = Math.max(LEAST_RING_MODULES, Math.min(MOST_RING_MODULES, ring));
  const pixels = gatherPixels(raster, quad, 1 + (2 * ringModules) / modules);
  if (pixels.count < 4 * UNKNOWNS) return null;
  const black = blackCells(grid, borderModules);
  const parameters = new Float64Array(UNKNOWNS);
  parameters.set(start.h);
  parameters[BLUR] = blurPx;
  const sorted = pixels.light.slice(0, pixels.count).sort();
  parameters[BLACK] = sorted[Math.floor(0.1 * sorted.length)];
  parameters[WHITE] = sorted[Math.floor(0.9 * sorted.length)];
  const model = { frame: start.frame, modules, black, usualBlurPx: blurPx };
  let noise = 0.08;
  let solved = null;
  for (const width of [3, 1.5, 1.5, 1.5]) {
    const from: Float64Array = solved?.parameters ?? parameters;
    const problem = problemOf(pixels, model, noise);
    solved = solveLeastSquares(problem, from, {
      loss: { kind: 'huber', width },
      maxIterations: 12,
      costTolerance: 1e-4,
    });
    if (fitQuality(solved.parameters, model, noise, pixels).excess > UNEVEN_EXCESS)
      findGain(solved.parameters, model, pixels, shortestSidePx(quad) / modules);
    noise = residualScale(pixels, model, solved.parameters);
  }
  if (solved === null || solved.covariance === null) return null;
  return describe(solved.parameters, solved.covariance, model, noise, pixels);
}

interface Pixels {
  readonly count: number;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly light: Float64Array;
  /** Light that falls there, as a multiple of what the planes say. */
  readonly gain: Float64Array;
}

interface SmallModel {
  readonly frame: MarkerFrame;
  readonly modules: number;
  /** 1 where a module is black, row by row. */
  readonly black: Uint8Array;
  readonly usualBlurPx: number;
}

function blackCells(grid: ArrayLike<number>, border: 1 | 2): Uint8Array {
  const modules = CODE_SIDE + 2 * border;
  return Uint8Array.from({ length: modules * modules }, (_, i) => {
    const [row, column] = [Math.floor(i / modules) - border, (i % modules) - border];
    const inCode = row >= 0 && column >= 0 && row < CODE_SIDE && column < CODE_SIDE;
    return inCode && grid[row * CODE_SIDE + column] ? 0 : 1;
  });
}

/** Pixels inside the quad grown by a factor about its middle. */
function gatherPixels(raster: Raster, quad: Float64Array, factor: number): Pixels {
  const middleX = (quad[0] + quad[2] + quad[4] + quad[6]) / 4;
  const middleY = (quad[1] + quad[3] + quad[5] + quad[7]) / 4;
  const grown = quad.map(
    (v, i) => (i % 2 === 0 ? middleX : middleY) + factor * (v - (i % 2 === 0 ? middleX : middleY)),
  );
  const [xs, ys] = [[0, 2, 4, 6].map((i) => grown[i]), [1, 3, 5, 7].map((i) => grown[i])];
  const { widthPx: w, heightPx: h, data } = raster;
  const found: number[] = [];
  for (let y = Math.max(0, Math.ceil(Math.min(...ys))); y <= Math.min(h - 1, Math.max(...ys)); y++)
    for (let x = Math.max(0, Math.ceil(Math.min(...xs))); x <= Math.min(w - 1, Math.max(...xs)); x++) {
      let inside = true;
      for (let i = 0; i < 4; i++) {
        const j = (i + 1) % 4;
        if ((xs[j] - xs[i]) * (y - ys[i]) - (ys[j] - ys[i]) * (x - xs[i]) < 0) inside = false;
      }
      if (inside) found.push(y * w + x);
    }
  const stride = Math.ceil(found.length / MOST_PIXELS);
  const used = found.filter((_, i) => i % stride === 0);
  return {
    count: used.length,
    x: Float64Array.from(used, (i) => i % w),
    y: Float64Array.from(used, (i) => Math.floor(i / w)),
    light: Float64Array.from(used, (i) => lightOfPixel(data[3 * i], data[3 * i + 1], data[3 * i + 2])),
    gain: new Float64Array(used.length).fill(1),
  };
}

/** Residuals this much wider than noise show light that is not even: a shadow's edge, say. */
const UNEVEN_EXCESS = 1.5;
const GAIN_MODULES = 0.6;

/**
 * Light that falls on each pixel, from how much brighter its surroundings (within a module or so) are than the model
 * says: a local scale by least squares, with Gaussian weights.
 */
function findGain(p: Float64Array, model: SmallModel, pixels: Pixels, modulePx: number): void {
  const { count, x, y, light, gain } = pixels;
  const expected = Float64Array.from({ length: count }, (_, i) => predict(p, model, pixels, i, derivative) / gain[i]);
  const reach = GAIN_MODULES * modulePx;
  const result = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    let [above, below] = [0, 0];
    for (let k = 0; k < count; k++) {
      const far = ((x[k] - x[i]) ** 2 + (y[k] - y[i]) ** 2) / (reach * reach);
      if (far > 6) continue;
      const weight = expected[k] * Math.exp(-far / 2);
      above += weight * light[k];
      below += weight * expected[k];
    }
    result[i] = Math.max(0.05, above / below);
  }
  gain.set(result);
}

const index = Int32Array.from({ length: UNKNOWNS }, (_, i) => i);
const derivative = new Float64Array(UNKNOWNS);

function problemOf(pixels: Pixels, model: SmallModel, noise: number) {
  return {
    parameterCount: UNKNOWNS,
    evaluate(p: Float64Array, sink: ResidualSink): void {
      for (let i = 0; i < pixels.count; i++) {
        const light = predict(p, model, pixels, i, derivative);
        const sigma = noise * Math.max(DARKEST_LIGHT, light) ** SLOPE_POWER;
        for (let k = 0; k < UNKNOWNS; k++) derivative[k] /= sigma;
        sink((light - pixels.light[i]) / sigma, index, derivative, UNKNOWNS);
      }
      derivative[0] = 1 / (BLUR_SIGMA * model.usualBlurPx);
      sink((p[BLUR] - model.usualBlurPx) * derivative[0], [BLUR], derivative, 1);
      derivative[0] = 1 / SPREAD_SIGMA_PX;
      sink(p[SPREAD] / SPREAD_SIGMA_PX, [SPREAD], derivative, 1);
    },
  };
}

/** Robust scale of the residuals in units of light to the slope's power. */
function residualScale(pixels: Pixels, model: SmallModel, p: Float64Array): number {
  const off = new Float64Array(pixels.count);
  for (let i = 0; i < pixels.count; i++) {
    const light = predict(p, model, pixels, i, derivative);
    off[i] = Math.abs(light - pixels.light[i]) / Math.max(DARKEST_LIGHT, light) ** SLOPE_POWER;
  }
  off.sort();
  return Math.max(1e-4, 1.4826 * off[pixels.count >> 1]);
}

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
const pattern = { dark: 0, byA: 0, byB: 0, byBlur: 0 };

/** Gauss–Hermite rule of three nodes for a standard normal variable (Abramowitz and Stegun 25.4.46). */
const NODES = [0, Math.sqrt(3), -Math.sqrt(3)];
const NODE_WEIGHTS = [2 / 3, 1 / 6, 1 / 6];

/**
 * Round blur in the photo is, seen on a tilted tag, an oval askew to the modules. Its variance is taken as a part along
 * the modules' sides, where the pattern's blur is a product of two curves, and a part along one diagonal, averaged.
 * @param correlation of the blur's displacements along a and b
 */
function blurredPattern(
  model: SmallModel,
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
    addPattern(model, placeA + moveA, placeB + moveB, straight * blurA, straight * blurB, moveA, moveB, weight);
  }
}

/** Below this the blur is taken as straight. */
const LEAST_CORRELATION = 0.02;

function addPattern(
  { modules, black }: SmallModel,
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

/** Linear light that the model expects at a pixel, with its derivatives by all unknowns. */
function predict(p: Float64Array, model: SmallModel, pixels: Pixels, i: number, d: Float64Array): number {
  const { frame, modules } = model;
  const gain = pixels.gain[i];
  // Place on the tag, by the adjugate of the homography.
  const s = frame.scalePx;
  const u = (pixels.x[i] - frame.middleX) / s;
  const v = (pixels.y[i] - frame.middleY) / s;
  const ww = (p[3] * p[7] - p[4] * p[6]) * u + (p[1] * p[6] - p[0] * p[7]) * v + (p[0] * p[4] - p[1] * p[3]);
  const a = ((p[4] - p[5] * p[7]) * u + (p[2] * p[7] - p[1]) * v + (p[1] * p[5] - p[2] * p[4])) / ww;
  const b = ((p[5] * p[6] - p[3]) * u + (p[0] - p[2] * p[6]) * v + (p[2] * p[3] - p[0] * p[5])) / ww;
  const w = 1 / (p[6] * a + p[7] * b + 1);
  const xa = s * (p[0] - p[6] * u) * w;
  const xb = s * (p[1] - p[7] * u) * w;
  const ya = s * (p[3] - p[6] * v) * w;
  const yb = s * (p[4] - p[7] * v) * w;
  // Modules a pixel, along both photo axes.
  const perUnit = modules / 2;
  const perDet = perUnit / (xa * yb - xb * ya);
  const ax = yb * perDet;
  const ay = -xb * perDet;
  const bx = -ya * perDet;
  const by = xa * perDet;
  const blurPx = Math.max(0.2, p[BLUR]);
  const perA = Math.sqrt(ax * ax + ay * ay);
  const perB = Math.sqrt(bx * bx + by * by);
  blurredPattern(
    model,
    (a + 1) * perUnit,
    (b + 1) * perUnit,
    blurPx * perA,
    blurPx * perB,
    (ax * bx + ay * by) / (perA * perB),
  );
  const { byA, byB } = pattern;
  // Gradient of the white share over the photo; spreading moves the picture against it.
  const gx = -(byA * ax + byB * bx);
  const gy = -(byA * ay + byB * by);
  const steep = Math.sqrt(gx * gx + gy * gy);
  const white = 1 - pattern.dark + p[SPREAD] * steep;
  const blackLight = p[BLACK] + p[BLACK + 1] * a + p[BLACK + 2] * b;
  const contrast = gain * (p[WHITE] + p[WHITE + 1] * a + p[WHITE + 2] * b - blackLight);
  const cx = -contrast * gx * s * w;
  const cy = -contrast * gy * s * w;
  d[0] = cx * a;
  d[1] = cx * b;
  d[2] = cx;
  d[3] = cy * a;
  d[4] = cy * b;
  d[5] = cy;
  d[6] = -(cx * u + cy * v) * a;
  d[7] = -(cx * u + cy * v) * b;
  d[BLUR] = (-contrast * pattern.byBlur) / blurPx;
  d[SPREAD] = contrast * steep;
  d[BLACK] = gain * (1 - white);
  d[BLACK + 1] = d[BLACK] * a;
  d[BLACK + 2] = d[BLACK] * b;
  d[WHITE] = gain * white;
  d[WHITE + 1] = d[WHITE] * a;
  d[WHITE + 2] = d[WHITE] * b;
  return gain * blackLight + contrast * white;
}

function describe(
  p: Float64Array,
  covariance: Float64Array,
  model: SmallModel,
  noise: number,
  pixels: Pixels,
): MarkerSolution {
  const { frame } = model;
  const corners = new Float64Array(8);
  let variance = 0;
  [
    [-1, -1],
    [1, -1],
    [1, 1],
    [-1, 1],
  ].forEach(([a, b], corner) => {
    const [u, v, w] = [mapX(p, a, b), mapY(p, a, b), 1 / (p[6] * a + p[7] * b + 1)];
    corners[2 * corner] = frame.middleX + frame.scalePx * u;
    corners[2 * corner + 1] = frame.middleY + frame.scalePx * v;
    const s = frame.scalePx * w;
    const rowX = [s * a, s * b, s, 0, 0, 0, -s * a * u, -s * b * u];
    const rowY = [0, 0, 0, s * a, s * b, s, -s * a * v, -s * b * v];
    for (const row of [rowX, rowY])
      for (let i = 0; i < 8; i++)
        for (let j = 0; j < 8; j++) variance += (row[i] * row[j] * covariance[i * UNKNOWNS + j]) / 8;
  });
  const { excess, explained } = fitQuality(p, model, noise, pixels);
  const contrast = p[WHITE] - p[BLACK];
  // An edge rises by contrast/(blur·√2π) a pixel: what the scatter of one pixel would shift it by.
  const residualPx = (noise * Math.max(DARKEST_LIGHT, p[WHITE] / 2) ** SLOPE_POWER * p[BLUR] * 2.5) / contrast;
  return {
    corners,
    sigmaPx: Math.hypot(SHARED_NOISE * Math.sqrt(variance * excess), LEAST_SIGMA_PX),
    residualPx,
    edgeCount: pixels.count,
    agreeing: contrast > 0 ? Math.round(explained * pixels.count) : 0,
  };
}

/** How much wider the residuals spread than their own middle says (1 for normal ones), and what share of variance is explained. */
function fitQuality(p: Float64Array, model: SmallModel, noise: number, pixels: Pixels) {
  let [squares, sum, total, left] = [0, 0, 0, 0];
  for (let i = 0; i < pixels.count; i++) {
    const light = predict(p, model, pixels, i, derivative);
    const off = light - pixels.light[i];
    squares += Math.min(MOST_OFF * MOST_OFF, (off / (noise * Math.max(DARKEST_LIGHT, light) ** SLOPE_POWER)) ** 2);
    sum += pixels.light[i];
    total += pixels.light[i] ** 2;
    left += off * off;
  }
  const variance = total - (sum * sum) / pixels.count;
  return { excess: Math.max(1, squares / pixels.count), explained: Math.max(0, 1 - left / variance) };
}
