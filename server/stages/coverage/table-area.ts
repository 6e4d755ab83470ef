import { photoFromTable } from '../../geometry/camera.js';
import type { SolvedTable } from '../../scene/solved-table.js';
import { pointOnArc } from '../../scene/track-observation.js';
import { isBefore, isInPicture } from './camera-part.js';
import { footOn, railAxisMm } from './clearance-row.js';

export interface TableArea {
  /** True where every corner of the table was seen, so that it is known what lies in no photo. */
  readonly whole: boolean;
  contains(x: number, y: number): boolean;
}

/**
 * Where the table top is: inside the corners where all were seen; else, as far as photos show it, on the table's hand of
 * every side that was.
 */
export function tableArea(solved: SolvedTable): TableArea {
  const { sides } = solved;
  if (sides.length > 2 && sides.every((s) => s.fromCorner && s.toCorner)) {
    const corners = sides.map((s) => pointOnArc(s.arc, s.fromS));
    return { whole: true, contains: (x, y) => insidePolygon(corners, x, y) };
  }
  return {
    whole: false,
    contains: (x, y) =>
      sides.length > 0 &&
      sides.every((side) => footOn(side, x, y).distanceMm >= 0) &&
      solved.cameras.some((_, photo) => shows(solved, photo, x, y)),
  };
}

/** Whether a photo shows a rail at a place of the table. */
export function shows(solved: SolvedTable, photo: number, x: number, y: number): boolean {
  const z = railAxisMm(solved);
  if (!isBefore(solved.cameras[photo], x, y, z)) return false;
  const p = photoFromTable(solved.cameras[photo], x, y, z);
  return isInPicture(solved.photoSizesPx[photo], p.x, p.y);
}

/** Even–odd rule; outlines given by hand may have corners that point inwards. */
function insidePolygon(corners: readonly { x: number; y: number }[], x: number, y: number): boolean {
  let inside = false;
  corners.forEach((a, i) => {
    const b = corners[(i + 1) % corners.length];
    if (a.y > y !== b.y > y && x < a.x + ((y - a.y) / (b.y - a.y)) * (b.x - a.x)) inside = !inside;
  });
  return inside;
}
