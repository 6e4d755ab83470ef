import { sampleAcross } from '../../images/cross-profile.js';
import type { CentreLine } from '../../scene/rail-joint.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { outerHeadOffsetMm } from '../../scene/track-profile.js';

/** One rail unrolled: brightness in linear light, a row for each place along the run, columns across the rail. */
export interface RailStrip {
  readonly rail: -1 | 0 | 1;
  readonly stepMm: number;
  readonly rows: number;
  readonly columns: number;
  readonly acrossStepMm: number;
  readonly data: Float32Array;
}

export interface StripShape {
  readonly stepMm: number;
  /** Across, from the rail's axis to each side. */
  readonly halfWidthMm: number;
  readonly acrossStepMm: number;
  /** Height above the table of what is looked at. */
  readonly heightMm: number;
}

/** Place on the centre line at s, between its places. */
export function placeAt(line: CentreLine, s: number): { x: number; y: number; headingRad: number } {
  const n = line.places.length;
  const q = s / line.stepMm;
  let i = Math.floor(q);
  if (!line.closed) i = Math.max(0, Math.min(n - 2, i));
  const t = q - i;
  const a = line.places[((i % n) + n) % n];
  const b = line.places[(((i + 1) % n) + n) % n];
  const turn = Math.atan2(Math.sin(b.headingRad - a.headingRad), Math.cos(b.headingRad - a.headingRad));
  // Cubic through both places with their headings, so that curves are not cut short.
  const length = Math.hypot(b.x - a.x, b.y - a.y);
  const h00 = (1 + 2 * t) * (1 - t) * (1 - t);
  const h10 = t * (1 - t) * (1 - t);
  const h01 = t * t * (3 - 2 * t);
  const h11 = t * t * (t - 1);
  const inside = t >= 0 && t <= 1;
  return {
    x: inside
      ? h00 * a.x + h10 * length * Math.cos(a.headingRad) + h01 * b.x + h11 * length * Math.cos(b.headingRad)
      : a.x + t * (b.x - a.x),
    y: inside
      ? h00 * a.y + h10 * length * Math.sin(a.headingRad) + h01 * b.y + h11 * length * Math.sin(b.headingRad)
      : a.y + t * (b.y - a.y),
    headingRad: a.headingRad + Math.max(-0.5, Math.min(1.5, t)) * turn,
  };
}

export function lengthOf(line: CentreLine): number {
  return (line.closed ? line.places.length : line.places.length - 1) * line.stepMm;
}

/** Unrolls each rail of a run, from startS to endS along it. */
export function unrollRails(run: RunInPhoto, startS: number, endS: number, shape: StripShape): RailStrip[] {
  const { raster, camera, track, line } = run;
  const rows = Math.max(1, Math.floor((endS - startS) / shape.stepMm) + 1);
  const columns = 2 * Math.round(shape.halfWidthMm / shape.acrossStepMm) + 1;
  const outer = outerHeadOffsetMm(track);
  const rails = track.railCount === 3 ? ([-1, 0, 1] as const) : ([-1, 1] as const);
  return rails.map((rail) => {
    const data = new Float32Array(rows * columns);
    const grid = { count: columns, stepMm: shape.acrossStepMm };
    const row = new Float64Array(columns);
    for (let i = 0; i < rows; i++) {
      const p = placeAt(line, startS + i * shape.stepMm);
      const x = p.x - rail * outer * Math.sin(p.headingRad);
      const y = p.y + rail * outer * Math.cos(p.headingRad);
      sampleAcross(raster, camera, x, y, p.headingRad, shape.heightMm, grid, row);
      data.set(row, i * columns);
    }
    return { rail, stepMm: shape.stepMm, rows, columns, acrossStepMm: shape.acrossStepMm, data };
  });
}
