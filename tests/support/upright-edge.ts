import type { PredictedEdge } from '../../server/stages/markers/edge-patch.js';
import type { ModuleEdge } from '../../server/stages/markers/module-edges.js';

/** sRGB code, with fractions, of linear light (IEC 61966-2-1). */
export const codeOfLight = (light: number): number =>
  255 * (light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055);

/** The edge between black modules on the left and white ones on the right. */
export const uprightEdge: ModuleEdge = {
  across: 'a',
  a: 0,
  b: 0,
  darkSide: -1,
  around: Uint8Array.of(0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1),
  outer: false,
};

/** Where that edge is supposed in a photo, px. */
export function supposedAt(x: number, y: number, modulePx: number): PredictedEdge {
  return {
    x,
    y,
    nx: 1,
    ny: 0,
    acrossX: modulePx,
    acrossY: 0,
    alongX: 0,
    alongY: modulePx,
    widthPx: modulePx,
    lengthPx: modulePx,
  };
}
