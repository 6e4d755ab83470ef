import type { PlanView } from '../../server/contract/plan-view.js';
import type { ReportCamera, ReportPhoto } from '../../server/contract/report.js';
import {
  type Camera,
  cameraCentreInTable,
  photoFromTable,
  tableFromPhotoAtHeight,
} from '../../server/geometry/camera.js';
import type { Pair } from './track-lines.js';
import type { Point, Size } from './view.js';

/** A picture on which the table can be drawn: a photo, the plan view, or an empty sheet. */
export interface PictureFrame extends Size {
  /** Where a point (x, y, z) millimetres in the table frame appears, picture pixels; null when it cannot. */
  pictureFromTable(x: number, y: number, zMm: number): Point | null;
  /** The table position at that height, millimetres, that appears at a picture point. */
  tableFromPicture(p: Point, zMm: number): Pair;
}

/** The camera of the report in the form that the geometry works with. */
export function cameraOf(camera: ReportCamera): Camera {
  const { fx, fy, cx, cy, k1, k2, p1, p2, rotation, translation } = camera;
  return {
    lens: { fx, fy, cx, cy, k1, k2, p1, p2 },
    cameraFromTable: { rotation: rotation.flat(), translation: [translation[0], translation[1], translation[2]] },
  };
}

/**
 * A photo with its lens distortion. Far outside the picture the distortion polynomial folds back: such points are
 * given up (null) instead of being drawn where they are not.
 */
export function photoFrame(photo: Pick<ReportPhoto, 'camera' | 'widthPx' | 'heightPx'>): PictureFrame {
  const camera = cameraOf(photo.camera);
  const { widthPx, heightPx } = photo;
  const ideal: Camera = { ...camera, lens: { ...camera.lens, k1: 0, k2: 0, p1: 0, p2: 0 } };
  return {
    width: widthPx,
    height: heightPx,
    pictureFromTable(x, y, zMm) {
      const straight = photoFromTable(ideal, x, y, zMm);
      const reach = 0.75;
      const inside =
        Math.abs(straight.x - widthPx / 2) < reach * widthPx && Math.abs(straight.y - heightPx / 2) < reach * heightPx;
      return inside ? photoFromTable(camera, x, y, zMm) : null;
    },
    tableFromPicture(p, zMm) {
      const at = tableFromPhotoAtHeight(camera, p.x, p.y, zMm);
      return [at.x, at.y];
    },
  };
}

/**
 * The plan view: true at its own height. What lies lower or higher shows where the ray from the camera through it meets
 * that height, so with one photo the drawing is put there too; with several, at its true place.
 * @param photos of the report
 */
export function planFrame(view: PlanView, photos: readonly Pick<ReportPhoto, 'camera'>[]): PictureFrame {
  const centre = photos.length === 1 ? cameraCentreInTable(cameraOf(photos[0].camera).cameraFromTable) : null;
  const { mmPerPx, originInTable, heightMm } = view;
  return {
    width: view.widthPx,
    height: view.heightPx,
    pictureFromTable(x, y, zMm) {
      const [px, py] = centre ? throughHeight(centre, x, y, zMm, heightMm) : [x, y];
      return { x: (px - originInTable[0]) / mmPerPx, y: (originInTable[1] - py) / mmPerPx };
    },
    tableFromPicture(p, zMm) {
      const [x, y] = [originInTable[0] + p.x * mmPerPx, originInTable[1] - p.y * mmPerPx];
      return centre ? throughHeight(centre, x, y, heightMm, zMm) : [x, y];
    },
  };
}

/** Millimetres left free around the table on an empty sheet. */
const sheetMarginMm = 60;

/** An empty sheet for the drawing alone, true everywhere, one millimetre a pixel. */
export function sheetFrame(outline: readonly (readonly [number, number])[]): PictureFrame {
  const xs = outline.map((p) => p[0]);
  const ys = outline.map((p) => p[1]);
  const left = Math.min(...xs) - sheetMarginMm;
  const top = Math.max(...ys) + sheetMarginMm;
  return {
    width: Math.max(...xs) - left + sheetMarginMm,
    height: top - Math.min(...ys) + sheetMarginMm,
    pictureFromTable: (x, y) => ({ x: x - left, y: top - y }),
    tableFromPicture: (p) => [p.x + left, top - p.y],
  };
}

/** Where the ray from the camera through (x, y) at one height meets another height. */
function throughHeight(
  centre: readonly number[],
  x: number,
  y: number,
  fromMm: number,
  toMm: number,
): [number, number] {
  const share = (centre[2] - toMm) / (centre[2] - fromMm);
  return [centre[0] + (x - centre[0]) * share, centre[1] + (y - centre[1]) * share];
}
