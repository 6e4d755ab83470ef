import { parabolaSize, projectParabola, sampleBrightest, sampleParabola } from '../../images/sample-parabola.js';
import { giveBack, sharedFloats } from '../../images/spare-memory.js';
import type { CentreLine } from '../../scene/rail-joint.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { outerHeadOffsetMm, railOffsets } from '../../scene/track-profile.js';

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

/** The same place, between 0 and the length of a closed line; an open line has places before its start and beyond its end. */
export function placeOnLine(line: CentreLine, s: number): number {
  const length = lengthOf(line);
  return line.closed ? ((s % length) + length) % length : s;
}

/** Rows are projected this far apart at most, and those between lie between them: off by 0.003 mm on the tightest curve. */
const knotMm = 2;

/** Unrolls each rail of a run, from startS to endS along it. */
export function unrollRails(run: RunInPhoto, startS: number, endS: number, shape: StripShape): RailStrip[] {
  const { raster, track } = run;
  const { stepMm, acrossStepMm } = shape;
  const rows = Math.max(1, Math.floor((endS - startS) / stepMm) + 1);
  const columns = 2 * Math.round(shape.halfWidthMm / acrossStepMm) + 1;
  const between = Math.max(1, Math.floor(knotMm / stepMm));
  const rails = railOffsets(track);
  const halfMm = ((columns - 1) * acrossStepMm) / 2;
  const knots = projectKnots(
    run,
    startS,
    between * stepMm,
    Math.ceil(rows / between) + 1,
    halfMm,
    shape.heightMm,
    rails.map(({ offsetMm }) => offsetMm),
  );
  const row = new Float64Array(parabolaSize);
  return rails.map(({ rail }, r) => {
    const data = sharedFloats(rows * columns);
    for (let i = 0; i < rows; i++) {
      const before = (Math.floor(i / between) * rails.length + r) * parabolaSize;
      const after = before + rails.length * parabolaSize;
      const share = (i % between) / between;
      for (let k = 0; k < parabolaSize; k++)
        row[k] = knots[before + k] + share * (knots[after + k] - knots[before + k]);
      sampleParabola(raster, row, columns, data, i * columns);
    }
    return { rail, stepMm, rows, columns, acrossStepMm, data };
  });
}

/** Keeps the memory of strips that nobody looks at any more. */
export function giveBackStrips(strips: readonly RailStrip[]): void {
  for (const strip of strips) giveBack(strip.data);
}

/** Light of the brightest channel across a rail at one place along a run, in a strip's columns. */
export function brightestAcross(run: RunInPhoto, s: number, strip: RailStrip, heightMm: number): Float32Array {
  const halfMm = ((strip.columns - 1) * strip.acrossStepMm) / 2;
  const offsetMm = strip.rail * outerHeadOffsetMm(run.track);
  return sampleBrightest(run.raster, projectKnots(run, s, 0, 1, halfMm, heightMm, [offsetMm]), strip.columns);
}

/** Parabolas across the rails, those of one place after those of the place before. */
function projectKnots(
  { camera, line }: RunInPhoto,
  startS: number,
  stepMm: number,
  count: number,
  halfMm: number,
  heightMm: number,
  offsetsMm: readonly number[],
): Float64Array {
  const out = new Float64Array(count * offsetsMm.length * parabolaSize);
  for (let i = 0, at = 0; i < count; i++) {
    const { x, y, headingRad } = placeAt(line, startS + i * stepMm);
    const nx = -Math.sin(headingRad);
    const ny = Math.cos(headingRad);
    for (const offsetMm of offsetsMm) {
      projectParabola(camera, x + offsetMm * nx, y + offsetMm * ny, halfMm * nx, halfMm * ny, heightMm, out, at);
      at += parabolaSize;
    }
  }
  return out;
}
