import { photoFromTable } from '../../geometry/camera.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { type RailPart, railParts } from './rail-parts.js';
import { lengthOf, placeAt } from './rail-strips.js';

/** Step along the run of all strips that slits are looked for in, millimetres. */
export const slitStepMm = 0.25;

const shape = { stepMm: slitStepMm, acrossStepMm: 0.4, headShare: 0.85, rimMm: 0.4 };

/** Head or flange of one rail along a run, as slits are looked for in it. */
export interface SlitView extends RailPart {
  /** Rows by which a square cut appears shifted in a column, at a row: a column of a round head has its own height. */
  readonly shiftAt: (row: number, column: number) => number;
}

export function slitViews(run: RunInPhoto, fromS: number, toS: number): SlitView[] {
  const radius = run.track.headWidthMm / 2;
  return railParts(run, fromS, toS, shape).map((view) => {
    if (view.part === 'flange') return { ...view, shiftAt: () => 0 };
    const middle = (view.strip.columns - 1) / 2;
    const shiftAt = (row: number, column: number): number => {
      const { along, left } = view.slopesAt(row);
      // What a column shows of the round head: the place where the line of sight meets the circle.
      const u = (column - middle) * shape.acrossStepMm - (radius / 2) * left;
      const size = Math.hypot(1, left);
      const off = Math.max(-1, Math.min(1, u / size / radius)) * radius;
      const heightMm = (Math.sqrt(radius * radius - off * off) - off * left) / size;
      return ((radius / 2 - heightMm) * along) / slitStepMm;
    };
    return { ...view, shiftAt };
  });
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
