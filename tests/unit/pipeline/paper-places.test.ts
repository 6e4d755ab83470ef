import { expect, it } from 'vitest';
import { type Camera, photoFromTable } from '../../../server/geometry/camera.js';
import { paperPlaces } from '../../../server/pipeline/paper-places.js';
import type { MarkerDetection } from '../../../server/scene/marker-detection.js';
import { markerCornerInTable } from '../../../server/scene/placed-marker.js';

const camera: Camera = {
  lens: { fx: 2900, fy: 2900, cx: 2015.5, cy: 1511.5, k1: -0.03, k2: 0.01, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [-500, 60, 1900] },
};

it('places on the paper lie in the middle of the white module about the black square', () => {
  const marker = { id: 3, x: 400, y: 120, turnRad: 0 };
  const cornersInPhoto = [0, 1, 2, 3].map((k) => {
    const [x, y] = markerCornerInTable(marker, 160, k);
    return photoFromTable(camera, x, y, 0);
  });
  const [places] = paperPlaces([{ id: 3, cornersInPhoto } as unknown as MarkerDetection], camera);
  const rounded = places.map(({ x, y }) => `${Math.round(x)} ${Math.round(y)}`).sort();
  expect(rounded).toEqual(['310 120', '400 210', '400 30', '490 120'].sort());
});
