import { lightOfPixel } from '../../images/linear-light.js';
import type { Raster } from '../../images/raster.js';
import { blurredPattern, pattern } from './blurred-pattern.js';
import type { MarkerFrame } from './marker-model.js';
import { CODE_SIDE } from './tag-family.js';

/** Order of the unknowns: 8 of the homography, blur (px), spread (px), black and white as planes over the tag. */
export const BLUR = 8;
export const SPREAD = 9;
export const BLACK = 10;
export const WHITE = 13;
export const UNKNOWNS = 16;

const MOST_PIXELS = 2500;

/** The pixels on and around a small marker. */
export interface Pixels {
  readonly count: number;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly light: Float64Array;
  /** Light that falls there, as a multiple of what the planes say. */
  readonly gain: Float64Array;
}

export interface SmallModel {
  readonly frame: MarkerFrame;
  readonly modules: number;
  /** 1 where a module is black, row by row. */
  readonly black: Uint8Array;
  readonly usualBlurPx: number;
}

/** 1 for each black module of the square, row by row. */
export function blackCells(grid: ArrayLike<number>, border: 1 | 2): Uint8Array {
  const modules = CODE_SIDE + 2 * border;
  return Uint8Array.from({ length: modules * modules }, (_, i) => {
    const [row, column] = [Math.floor(i / modules) - border, (i % modules) - border];
    const inCode = row >= 0 && column >= 0 && row < CODE_SIDE && column < CODE_SIDE;
    return inCode && grid[row * CODE_SIDE + column] ? 0 : 1;
  });
}

/** Pixels inside the quad grown by a factor about its middle. */
export function gatherPixels(raster: Raster, quad: Float64Array, factor: number): Pixels {
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

/** Where on the tag the last pixel predicted lies. */
export const place = { a: 0, b: 0 };

/** Linear light that the model expects at a pixel; its derivatives by all unknowns are left in `d`, its place in `place`. */
export function predict(p: Float64Array, model: SmallModel, pixels: Pixels, i: number, d: Float64Array): number {
  const { frame, modules, black } = model;
  const gain = pixels.gain[i];
  // Place on the tag, by the adjugate of the homography.
  const s = frame.scalePx;
  const u = (pixels.x[i] - frame.middleX) / s;
  const v = (pixels.y[i] - frame.middleY) / s;
  const ww = (p[3] * p[7] - p[4] * p[6]) * u + (p[1] * p[6] - p[0] * p[7]) * v + (p[0] * p[4] - p[1] * p[3]);
  const a = ((p[4] - p[5] * p[7]) * u + (p[2] * p[7] - p[1]) * v + (p[1] * p[5] - p[2] * p[4])) / ww;
  const b = ((p[5] * p[6] - p[3]) * u + (p[0] - p[2] * p[6]) * v + (p[2] * p[3] - p[0] * p[5])) / ww;
  place.a = a;
  place.b = b;
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
    modules,
    black,
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
  // How light changes over the photo: by the pattern, and by the planes of black and white.
  const planeA = (gain / perUnit) * (p[BLACK + 1] * (1 - white) + p[WHITE + 1] * white);
  const planeB = (gain / perUnit) * (p[BLACK + 2] * (1 - white) + p[WHITE + 2] * white);
  const cx = -(contrast * gx + planeA * ax + planeB * bx) * s * w;
  const cy = -(contrast * gy + planeA * ay + planeB * by) * s * w;
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
