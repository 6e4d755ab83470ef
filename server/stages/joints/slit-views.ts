import { photoFromTable } from '../../geometry/camera.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { type RailPart, railParts } from './rail-parts.js';
import { lengthOf, placeAt } from './rail-strips.js';

/** Step along the run of all strips that slits are looked for in, millimetres. */
export const slitStepMm = 0.25;

const shape = { stepMm: slitStepMm, acrossStepMm: 0.4, headShare: 0.85, rimMm: 0.4 };

/** Head or flange of one rail along a run, as slits are looked for in it. */
export type SlitView = RailPart;

export function slitViews(run: RunInPhoto, fromS: number, toS: number): SlitView[] {
  return railParts(run, fromS, toS, shape);
}

/** Millimetres along the run that one pixel covers at its middle. */
export function pixelAlongMm({ camera, line }: RunInPhoto, s: number, heightMm: number): number {
  const at = (d: number): { x: number; y: number } => {
    const p = placeAt(line, Math.max(0, Math.min(lengthOf(line), s)) + d);
    return photoFromTable(camera, p.x, p.y, heightMm);
  };
  const [a, b] = [at(-2), at(2)];
  return 4 / Math.max(1e-6, Math.hypot(b.x - a.x, b.y - a.y));
}
