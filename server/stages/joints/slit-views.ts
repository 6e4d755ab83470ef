import { type Camera, cameraCentreInTable, photoFromTable } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import type { CentreLine } from '../../scene/rail-joint.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { lengthOf, placeAt, type RailStrip, unrollRails } from './rail-strips.js';

/** Step along the run of all strips that slits are looked for in, millimetres. */
export const slitStepMm = 0.25;

const acrossStepMm = 0.4;

/** Head or flange of one rail along a run, as slits are looked for in it. */
export interface SlitView {
  readonly strip: RailStrip;
  readonly part: 'head' | 'flange';
  /** Columns that the rail's own head does not hide, at a row. */
  readonly columnsAt: (row: number) => readonly number[];
  /** Rows by which a square cut appears shifted in a column, at a row: a column of a round head has its own height. */
  readonly shiftAt: (row: number, column: number) => number;
}

/** Heads and flanges of all rails from one place of a run to another, each unrolled at its own height. */
export function slitViews(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  line: CentreLine,
  fromS: number,
  toS: number,
): SlitView[] {
  const radius = track.headWidthMm / 2;
  const axisMm = track.railTopMm - radius;
  const eye = cameraCentreInTable(camera.cameraFromTable);
  /** Run of the view for each millimetre of height: along the track, and to its left. */
  const slopesAt = (row: number): [number, number] => {
    const p = placeAt(line, fromS + row * slitStepMm);
    const [dx, dy] = [eye[0] - p.x, eye[1] - p.y];
    const [c, s] = [Math.cos(p.headingRad), Math.sin(p.headingRad)];
    return [(dx * c + dy * s) / eye[2], (-dx * s + dy * c) / eye[2]];
  };
  const headMm = axisMm + radius / 2;
  const heads = unrollRails(raster, camera, track, line, fromS, toS, {
    stepMm: slitStepMm,
    halfWidthMm: 0.85 * radius,
    acrossStepMm,
    heightMm: headMm,
  });
  const all = Array.from({ length: heads[0].columns }, (_, k) => k);
  const views: SlitView[] = heads.map((strip) => ({
    strip,
    part: 'head',
    columnsAt: () => all,
    shiftAt: (row, column) => {
      const [along, left] = slopesAt(row);
      // What a column shows of the round head: the place where the line of sight meets the circle.
      const u = (column - (strip.columns - 1) / 2) * acrossStepMm - (radius / 2) * left;
      const size = Math.hypot(1, left);
      const off = Math.max(-1, Math.min(1, u / size / radius)) * radius;
      const heightMm = (Math.sqrt(radius * radius - off * off) - off * left) / size;
      return ((radius / 2 - heightMm) * along) / slitStepMm;
    },
  }));
  if (track.flangeWidthMm === null || track.flangeTopMm === null) return views;
  const flanges = unrollRails(raster, camera, track, line, fromS, toS, {
    stepMm: slitStepMm,
    halfWidthMm: track.flangeWidthMm / 2 - 0.4,
    acrossStepMm,
    heightMm: track.flangeTopMm,
  });
  const drop = axisMm - track.flangeTopMm;
  for (const strip of flanges) {
    const middle = (strip.columns - 1) / 2;
    views.push({
      strip,
      part: 'flange',
      columnsAt: (row) => {
        const left = slopesAt(row)[1];
        const hidden = radius * Math.hypot(1, left) + 0.4;
        const columns = Array.from({ length: strip.columns }, (_, k) => k);
        return columns.filter((k) => Math.abs((k - middle) * acrossStepMm + drop * left) > hidden);
      },
      shiftAt: () => 0,
    });
  }
  return views;
}

/** Millimetres along the run that one pixel covers at its middle. */
export function pixelAlongMm(camera: Camera, line: CentreLine, s: number, heightMm: number): number {
  const at = (d: number): { x: number; y: number } => {
    const p = placeAt(line, Math.max(0, Math.min(lengthOf(line), s)) + d);
    return photoFromTable(camera, p.x, p.y, heightMm);
  };
  const [a, b] = [at(-2), at(2)];
  return 4 / Math.max(1e-6, Math.hypot(b.x - a.x, b.y - a.y));
}
