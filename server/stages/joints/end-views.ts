import { type Camera, cameraCentreInTable } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import type { CentreLine } from '../../scene/rail-joint.js';
import { outerHeadOffsetMm, type TrackProfile } from '../../scene/track-profile.js';
import type { EndView } from './rail-end.js';
import { placeAt, unrollRails } from './rail-strips.js';

/**
 * Heads and flanges of all rails along a run, each at its own height: a square end is at the same place of all of them.
 * The head hides a part of its flange from a slanting view, and its own far side hides nothing that counts.
 */
export function endViews(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  line: CentreLine,
  startS: number,
  endS: number,
  stepMm: number,
): EndView[] {
  const radius = track.headWidthMm / 2;
  const acrossStepMm = 0.3;
  const heads = unrollRails(raster, camera, track, line, startS, endS, {
    stepMm,
    halfWidthMm: 0.95 * radius,
    acrossStepMm,
    heightMm: track.railTopMm - radius / 2,
  });
  const outer = outerHeadOffsetMm(track);
  const whole = Array.from({ length: heads[0].columns }, (_, k) => k);
  const eye = cameraCentreInTable(camera.cameraFromTable);
  const slopeAlongAt = (row: number): number => {
    const p = placeAt(line, startS + row * stepMm);
    return ((eye[0] - p.x) * Math.cos(p.headingRad) + (eye[1] - p.y) * Math.sin(p.headingRad)) / eye[2];
  };
  const views: EndView[] = heads.map((strip, rail) => ({
    rail,
    acrossMm: strip.rail * outer,
    strip,
    columnsAt: () => whole,
    part: 'head',
    slopeAlongAt,
  }));
  if (track.flangeWidthMm === null || track.flangeTopMm === null) return views;
  const flanges = unrollRails(raster, camera, track, line, startS, endS, {
    stepMm,
    halfWidthMm: track.flangeWidthMm / 2 - 0.3,
    acrossStepMm,
    heightMm: track.flangeTopMm,
  });
  const drop = track.railTopMm - radius - track.flangeTopMm;
  const seenColumns = (strip: EndView['strip'], row: number): number[] => {
    const p = placeAt(line, startS + row * stepMm);
    const left = -(eye[0] - p.x) * Math.sin(p.headingRad) + (eye[1] - p.y) * Math.cos(p.headingRad);
    const slope = left / eye[2];
    const hidden = radius * Math.hypot(1, slope) + 0.3;
    const middle = (strip.columns - 1) / 2;
    const columns: number[] = [];
    for (let k = 0; k < strip.columns; k++)
      if (Math.abs((k - middle) * acrossStepMm + drop * slope) > hidden) columns.push(k);
    return columns.length >= 3 ? columns : [];
  };
  return [
    ...views,
    ...flanges.map((strip, rail) => ({
      rail,
      acrossMm: strip.rail * outer,
      strip,
      columnsAt: (row: number) => seenColumns(strip, row),
      part: 'flange' as const,
      slopeAlongAt,
    })),
  ];
}
