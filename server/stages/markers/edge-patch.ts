import { lightOfPixel } from '../../images/linear-light.js';
import type { Raster } from '../../images/raster.js';
import { AT } from './marker-model.js';
import type { ModuleEdge } from './module-edges.js';

/** A module edge as the model predicts it in the photo, to first order about its middle. */
export interface PredictedEdge {
  readonly x: number;
  readonly y: number;
  /** Unit normal, towards the greater coordinate. */
  readonly nx: number;
  readonly ny: number;
  /** Photo step of one module across the edge, and along it, px. */
  readonly acrossX: number;
  readonly acrossY: number;
  readonly alongX: number;
  readonly alongY: number;
  /** Distance of the module's two sides along the normal, px. */
  readonly widthPx: number;
  readonly lengthPx: number;
}

/** @param projection from `projectModule` at the edge's middle; `unit` is one module in the tag's coordinates */
export function predictEdge(edge: ModuleEdge, projection: Float64Array, unit: number): PredictedEdge {
  const isA = edge.across === 'a';
  const acrossX = projection[isA ? AT.xa : AT.xb] * unit;
  const acrossY = projection[isA ? AT.ya : AT.yb] * unit;
  const alongX = projection[isA ? AT.xb : AT.xa] * unit;
  const alongY = projection[isA ? AT.yb : AT.ya] * unit;
  const lengthPx = Math.hypot(alongX, alongY);
  let [nx, ny] = [-alongY / lengthPx, alongX / lengthPx];
  if (nx * acrossX + ny * acrossY < 0) [nx, ny] = [-nx, -ny];
  const widthPx = nx * acrossX + ny * acrossY;
  return {
    x: projection[AT.x],
    y: projection[AT.y],
    nx,
    ny,
    acrossX,
    acrossY,
    alongX,
    alongY,
    widthPx,
    lengthPx,
  };
}

/** Pixels near a module edge. */
export interface EdgePatch {
  count: number;
  /** Distance from the predicted edge along its normal, px. */
  readonly s: Float64Array;
  /** Place along the edge, modules from its middle. */
  readonly t: Float64Array;
  /** Linear light, 0…1. */
  readonly light: Float64Array;
  /** Share of the pixels that are clipped white (code 254 and more). */
  clippedShare: number;
}

export const MOST_PATCH_PIXELS = 900;

export function newPatch(): EdgePatch {
  const make = () => new Float64Array(MOST_PATCH_PIXELS);
  return { count: 0, s: make(), t: make(), light: make(), clippedShare: 0 };
}

/**
 * Gathers the pixels within `reachPx` of an edge and `alongModules` of its middle; every second, third … row and column
 * when there are more than the patch holds.
 */
export function gatherPatch(
  raster: Raster,
  edge: PredictedEdge,
  reachPx: number,
  alongModules: number,
  patch: EdgePatch,
): void {
  const { widthPx: w, heightPx: h, data } = raster;
  const { nx, ny, acrossX, acrossY, alongX, alongY, widthPx, lengthPx } = edge;
  const [tx, ty] = [alongX / lengthPx, alongY / lengthPx];
  const skew = (acrossX * tx + acrossY * ty) / widthPx;
  const halfLength = alongModules * lengthPx + reachPx * Math.abs(skew);
  const halfX = Math.abs(nx) * reachPx + Math.abs(tx) * halfLength;
  const halfY = Math.abs(ny) * reachPx + Math.abs(ty) * halfLength;
  const pixels = 4 * reachPx * alongModules * lengthPx;
  const stride = Math.max(1, Math.ceil(Math.sqrt(pixels / (0.8 * MOST_PATCH_PIXELS))));
  const endX = Math.min(w - 1, Math.floor(edge.x + halfX));
  const endY = Math.min(h - 1, Math.floor(edge.y + halfY));
  let count = 0;
  let clipped = 0;
  for (let y = Math.max(0, Math.ceil(edge.y - halfY)); y <= endY; y += stride) {
    for (let x = Math.max(0, Math.ceil(edge.x - halfX)); x <= endX; x += stride) {
      const [dx, dy] = [x - edge.x, y - edge.y];
      const s = dx * nx + dy * ny;
      if (s > reachPx || s < -reachPx) continue;
      const t = (dx * tx + dy * ty - s * skew) / lengthPx;
      if (t > alongModules || t < -alongModules || count >= MOST_PATCH_PIXELS) continue;
      const i = (y * w + x) * 3;
      const [r, g, b] = [data[i], data[i + 1], data[i + 2]];
      if (r >= 254 || g >= 254 || b >= 254) clipped++;
      patch.s[count] = s;
      patch.t[count] = t;
      patch.light[count++] = lightOfPixel(r, g, b);
    }
  }
  patch.count = count;
  patch.clippedShare = count === 0 ? 0 : clipped / count;
}
