import { lightOfPixel } from '../../images/linear-light.js';
import { normalCdf, normalDensity } from '../../images/normal-curve.js';
import type { Raster } from '../../images/raster.js';
import { type ResidualSink, solveLeastSquares } from '../../linalg/least-squares.js';
import { type MarkerFrame, startMarker } from './marker-model.js';
import type { MarkerSolution } from './marker-solve.js';
import { CODE_SIDE } from './tag-family.js';
import { mapX, mapY } from './tag-plane.js';

/** Order of the unknowns: 8 of the homography, blur (px), spread (px), black and white as planes over the tag. */
const BLUR = 8;
const SPREAD = 9;
const BLACK = 10;
const WHITE = 13;
const UNKNOWNS = 16;

const MOST_PIXELS = 4000;
/** Paper around the square that takes part, modules. */
const RING_MODULES = 0.8;
const USUAL_BLUR_PX = 0.8;
/** Share of itself by which the blur may well differ from the one given. */
const BLUR_SIGMA = 0.7;
const SPREAD_SIGMA_PX = 0.2;
/** See edge-fit: noise falls with light no further than this, and goes with light to this power. */
const DARKEST_LIGHT = 0.02;
const SLOPE_POWER = 1.4 / 2.4;
/** Neighbouring pixels share noise (demosaicing, JPEG): as if there were this many fewer. */
const SHARED_NOISE = 1.5;

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
  const pixels = gatherPixels(raster, quad, 1 + (2 * RING_MODULES) / modules);
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
  for (const width of [3, 1.5, 1.5]) {
    solved = solveLeastSquares(problemOf(pixels, model, noise), solved?.parameters ?? parameters, {
      loss: { kind: 'huber', width },
      maxIterations: 15,
      costTolerance: 1e-6,
    });
    noise = residualScale(pixels, model, solved.parameters);
  }
  if (solved === null || solved.covariance === null) return null;
  return describe(solved.parameters, solved.covariance, start.frame, noise, pixels.count);
}

interface Pixels {
  readonly count: number;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly light: Float64Array;
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
  };
}

const index = Int32Array.from({ length: UNKNOWNS }, (_, i) => i);
const derivative = new Float64Array(UNKNOWNS);

function problemOf(pixels: Pixels, model: SmallModel, noise: number) {
  return {
    parameterCount: UNKNOWNS,
    evaluate(p: Float64Array, sink: ResidualSink): void {
      for (let i = 0; i < pixels.count; i++) {
        const light = predict(p, model, pixels.x[i], pixels.y[i], derivative);
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
    const light = predict(p, model, pixels.x[i], pixels.y[i], derivative);
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
  let [before, density, moment] = [normalCdf(-place / blur), normalDensity(-place / blur), -place / blur];
  moment *= density;
  for (let i = 0; i < modules; i++) {
    const z = (i + 1 - place) / blur;
    const [after, nextDensity] = [normalCdf(z), normalDensity(z)];
    const nextMoment = z * nextDensity;
    shares.value[i] = after - before;
    shares.slope[i] = (density - nextDensity) / blur;
    shares.widen[i] = (moment - nextMoment) / blur;
    [before, density, moment] = [after, nextDensity, nextMoment];
  }
}

/** Linear light that the model expects at a pixel, with its derivatives by all unknowns. */
function predict(p: Float64Array, model: SmallModel, x: number, y: number, d: Float64Array): number {
  const { frame, modules, black } = model;
  // Place on the tag, by the adjugate of the homography.
  const [u, v] = [(x - frame.middleX) / frame.scalePx, (y - frame.middleY) / frame.scalePx];
  const [h0, h1, h2, h3, h4, h5, h6, h7] = p;
  const wa = (h4 - h5 * h7) * u + (h2 * h7 - h1) * v + (h1 * h5 - h2 * h4);
  const wb = (h5 * h6 - h3) * u + (h0 - h2 * h6) * v + (h2 * h3 - h0 * h5);
  const ww = (h3 * h7 - h4 * h6) * u + (h1 * h6 - h0 * h7) * v + (h0 * h4 - h1 * h3);
  const [a, b] = [wa / ww, wb / ww];
  const w = 1 / (h6 * a + h7 * b + 1);
  const s = frame.scalePx;
  const [xa, xb] = [s * (h0 - h6 * u) * w, s * (h1 - h7 * u) * w];
  const [ya, yb] = [s * (h3 - h6 * v) * w, s * (h4 - h7 * v) * w];
  const det = xa * yb - xb * ya;
  // Modules a pixel, along both photo axes.
  const perUnit = modules / 2;
  const [ax, ay] = [(yb / det) * perUnit, (-xb / det) * perUnit];
  const [bx, by] = [(-ya / det) * perUnit, (xa / det) * perUnit];
  const blurPx = Math.max(0.2, p[BLUR]);
  const [perA, perB] = [Math.hypot(ax, ay), Math.hypot(bx, by)];
  fillShares(shareA, (a + 1) * perUnit, blurPx * perA, modules);
  fillShares(shareB, (b + 1) * perUnit, blurPx * perB, modules);
  let [dark, byA, byB, byBlur] = [0, 0, 0, 0];
  for (let row = 0; row < modules; row++) {
    let [value, slope, widen] = [0, 0, 0];
    for (let column = 0; column < modules; column++) {
      if (!black[row * modules + column]) continue;
      value += shareA.value[column];
      slope += shareA.slope[column];
      widen += shareA.widen[column];
    }
    dark += shareB.value[row] * value;
    byA += shareB.value[row] * slope;
    byB += shareB.slope[row] * value;
    byBlur += shareB.value[row] * widen * perA + shareB.widen[row] * value * perB;
  }
  // Gradient of the white share over the photo; spreading moves the picture against it.
  const [gx, gy] = [-(byA * ax + byB * bx), -(byA * ay + byB * by)];
  const steep = Math.hypot(gx, gy);
  const white = 1 - dark + p[SPREAD] * steep;
  const blackLight = p[BLACK] + p[BLACK + 1] * a + p[BLACK + 2] * b;
  const contrast = p[WHITE] + p[WHITE + 1] * a + p[WHITE + 2] * b - blackLight;
  const [cx, cy] = [-contrast * gx * s * w, -contrast * gy * s * w];
  d[0] = cx * a;
  d[1] = cx * b;
  d[2] = cx;
  d[3] = cy * a;
  d[4] = cy * b;
  d[5] = cy;
  d[6] = -(cx * u + cy * v) * a;
  d[7] = -(cx * u + cy * v) * b;
  d[BLUR] = -contrast * byBlur;
  d[SPREAD] = contrast * steep;
  d[BLACK] = 1 - white;
  d[BLACK + 1] = (1 - white) * a;
  d[BLACK + 2] = (1 - white) * b;
  d[WHITE] = white;
  d[WHITE + 1] = white * a;
  d[WHITE + 2] = white * b;
  return blackLight + contrast * white;
}

function describe(
  p: Float64Array,
  covariance: Float64Array,
  frame: MarkerFrame,
  noise: number,
  count: number,
): MarkerSolution {
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
  const contrast = p[WHITE] - p[BLACK];
  // An edge rises by contrast/(blur·√2π) a pixel: what the scatter of one pixel would shift it by.
  const residualPx = (noise * Math.max(DARKEST_LIGHT, p[WHITE] / 2) ** SLOPE_POWER * p[BLUR] * 2.5) / contrast;
  return {
    corners,
    sigmaPx: Math.hypot(SHARED_NOISE * Math.sqrt(variance), 0.02),
    residualPx,
    edgeCount: count,
    agreeing: contrast > 0 ? count : 0,
  };
}
