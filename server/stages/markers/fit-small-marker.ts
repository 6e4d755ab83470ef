import type { Raster } from '../../images/raster.js';
import { type ResidualSink, solveLeastSquares } from '../../linalg/least-squares.js';
import { sigmaOfMiddle } from '../../linalg/middle.js';
import { startMarker } from './marker-model.js';
import { type MarkerSolution, TAG_CORNERS } from './marker-state.js';
import {
  BLACK,
  BLUR,
  blackCells,
  gatherPixels,
  type Pixels,
  place,
  predict,
  type SmallModel,
  SPREAD,
  UNKNOWNS,
  WHITE,
} from './small-marker-model.js';
import { CODE_SIDE } from './tag-family.js';
import { mapX, mapY, shortestSidePx } from './tag-plane.js';

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
/** Around a corner, this many modules either way, pixels off by this share of the contrast show something else. */
const CORNER_MODULES = 1;
const COVERED_CORNER = 0.25;
/** What is off alike at three corners or more (soft focus, sharpening by the camera) is no cover. */
const COVERED_OVER_OTHERS = 1.6;

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
  return Math.max(1e-4, sigmaOfMiddle * off[pixels.count >> 1]);
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
  TAG_CORNERS.forEach(([a, b], corner) => {
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
  const { excess, explained, worstCorner, usualCorner } = fitQuality(p, model, noise, pixels);
  const contrast = p[WHITE] - p[BLACK];
  // An edge rises by contrast/(blur·√2π) a pixel: what the scatter of one pixel would shift it by.
  const residualPx = (noise * Math.max(DARKEST_LIGHT, p[WHITE] / 2) ** SLOPE_POWER * p[BLUR] * 2.5) / contrast;
  return {
    corners,
    sigmaPx: Math.hypot(SHARED_NOISE * Math.sqrt(variance * excess), LEAST_SIGMA_PX),
    residualPx,
    edgeCount: pixels.count,
    agreeing: contrast > 0 ? Math.round(explained * pixels.count) : 0,
    covered: worstCorner > Math.max(COVERED_CORNER, COVERED_OVER_OTHERS * usualCorner),
  };
}

/**
 * How much wider the residuals spread than their own middle says (1 for normal ones), what share of variance is
 * explained, and how far off, in contrasts, the pixels around the worst and the second-best corner are on average.
 */
function fitQuality(p: Float64Array, model: SmallModel, noise: number, pixels: Pixels) {
  let [squares, sum, total, left] = [0, 0, 0, 0];
  const reach = (2 * CORNER_MODULES) / model.modules;
  const cornerOff = new Float64Array(4);
  const cornerCount = new Float64Array(4);
  for (let i = 0; i < pixels.count; i++) {
    const light = predict(p, model, pixels, i, derivative);
    const off = light - pixels.light[i];
    squares += Math.min(MOST_OFF * MOST_OFF, (off / (noise * Math.max(DARKEST_LIGHT, light) ** SLOPE_POWER)) ** 2);
    sum += pixels.light[i];
    total += pixels.light[i] ** 2;
    left += off * off;
    const corner = (place.b < 0 ? 0 : 2) + (place.a < 0 ? 0 : 1);
    if (Math.max(Math.abs(Math.abs(place.a) - 1), Math.abs(Math.abs(place.b) - 1)) > reach) continue;
    cornerOff[corner] += Math.abs(off) / pixels.gain[i];
    cornerCount[corner]++;
  }
  const variance = total - (sum * sum) / pixels.count;
  const contrast = Math.max(1e-6, p[WHITE] - p[BLACK]);
  const corners = cornerOff.map((off, i) => off / Math.max(1, cornerCount[i]) / contrast).sort();
  const explained = Math.max(0, 1 - left / variance);
  return { excess: Math.max(1, squares / pixels.count), explained, worstCorner: corners[3], usualCorner: corners[1] };
}
