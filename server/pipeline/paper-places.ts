import { type Camera, tableFromPhotoAtHeight } from '../geometry/camera.js';
import type { MarkerDetection } from '../scene/marker-detection.js';

/** The paper beside a black square is white for one of its modules, an eighth of the square; its middle lies half of that outside. */
const outsideShare = 1 / 8;

/** Four places on the white paper about each marker, millimetres in the table frame. */
export function paperPlaces(
  markers: readonly MarkerDetection[],
  camera: Camera,
): readonly (readonly { readonly x: number; readonly y: number }[])[] {
  return markers.map(({ cornersInPhoto }) => {
    const corners = cornersInPhoto.map((c) => tableFromPhotoAtHeight(camera, c.x, c.y, 0));
    const middle = { x: meanOf(corners.map((c) => c.x)), y: meanOf(corners.map((c) => c.y)) };
    return corners.map((a, i) => {
      const b = corners[(i + 1) % 4];
      const [x, y] = [(a.x + b.x) / 2 - middle.x, (a.y + b.y) / 2 - middle.y];
      return { x: middle.x + (1 + outsideShare) * x, y: middle.y + (1 + outsideShare) * y };
    });
  });
}

const meanOf = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0) / values.length;
