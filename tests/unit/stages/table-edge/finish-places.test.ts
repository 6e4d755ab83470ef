import { describe, expect, it } from 'vitest';
import { type Camera, tableFromPhotoAtHeight } from '../../../../server/geometry/camera.js';
import { type TablePoint, tablePoint } from '../../../../server/geometry/frames.js';
import { barePlaces, type OnTable } from '../../../../server/stages/table-edge/finish-places.js';
import type { ReducedPhoto } from '../../../../server/stages/table-edge/reduced-photo.js';

/** Straight down on a table of 1000 × 600 mm, 1 mm a pixel, and 100 mm of floor on every side. */
const camera: Camera = {
  lens: { fx: 1500, fy: 1500, cx: 600, cy: 400, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [-500, 300, 1500] },
};
const reduced: ReducedPhoto = {
  widthPx: 300,
  heightPx: 200,
  scale: 4,
  tone: new Float32Array(0),
  look: new Float32Array(0),
};
const marker = (x: number, y: number): TablePoint[] => [
  tablePoint(x, y),
  tablePoint(x + 60, y),
  tablePoint(x + 60, y + 60),
  tablePoint(x, y + 60),
];

/** Share of the bare places that lie beyond the table's edge. */
function shareBeyond(on: OnTable): number {
  const places = barePlaces(camera, reduced, on, []);
  expect(places.length).toBeGreaterThan(200);
  const beyond = places.filter((i) => {
    const [qx, qy] = [i % reduced.widthPx, Math.floor(i / reduced.widthPx)];
    const { x, y } = tableFromPhotoAtHeight(camera, (qx + 0.5) * 4 - 0.5, (qy + 0.5) * 4 - 0.5, 0);
    return x < -2 || x > 1002 || y < -2 || y > 602;
  });
  return beyond.length / places.length;
}

describe('places that show bare table', () => {
  it('do not lie on the floor beside track that runs along the edge', () => {
    // A loop whose rails come within a few millimetres of all four sides, and two markers in it.
    const track = Array.from({ length: 160 }, (_, i) => {
      const [side, part] = [Math.floor(i / 40), (i % 40) / 40];
      const along = [
        { x: 25 + 950 * part, y: 25 },
        { x: 975, y: 25 + 550 * part },
        { x: 975 - 950 * part, y: 575 },
        { x: 25, y: 575 - 550 * part },
      ];
      return along[side];
    });
    const on = { markerCorners: [marker(300, 250), marker(600, 300)], track, halfTrackMm: 20, railTopMm: 17.5 };
    expect(shareBeyond(on)).toBeLessThan(0.01);
  });

  it('lie beside the track where next to nothing is between markers and track', () => {
    const track = Array.from({ length: 60 }, (_, i) => ({ x: 150 + 10 * i, y: 300 }));
    const on = { markerCorners: [marker(100, 290)], track, halfTrackMm: 20, railTopMm: 17.5 };
    expect(shareBeyond(on)).toBeLessThan(0.05);
  });
});
