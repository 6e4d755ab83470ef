import { describe, expect, it } from 'vitest';
import { problemLine } from '../../../../server/contract/problems.js';
import { photoFromTable } from '../../../../server/geometry/camera.js';
import type { MarkerDetection } from '../../../../server/scene/marker-detection.js';
import type { Photo } from '../../../../server/scene/photo.js';
import { markerCornerInTable } from '../../../../server/scene/placed-marker.js';
import { startCamera } from '../../../../server/stages/camera/start-camera.js';

const f = 2900;
const camera = {
  lens: { fx: f, fy: f, cx: 2015.5, cy: 1511.5, k1: -0.03, k2: 0.01, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1] as const, translation: [0, 0, 1800] as const },
};

const photo = (name: string): Photo =>
  ({ name, raster: { widthPx: 4032, heightPx: 3024 }, exif: { focalLength35mm: 25 } }) as unknown as Photo;

const marker = (id: number, x: number): MarkerDetection => {
  const cornersInPhoto = [0, 1, 2, 3].map((k) =>
    photoFromTable(camera, ...markerCornerInTable({ x, y: 40, turnRad: 0.3 }, 100, k), 0),
  );
  return { id, cornersInPhoto, sigmaPx: 0.02 } as unknown as MarkerDetection;
};

describe('placing cameras', () => {
  it('names the photos that have no marker in common with the others, and says what to take', () => {
    const photos = ['left.jpg', 'middle.jpg', 'right.jpg'].map(photo);
    const seen = [[marker(1, -300), marker(2, 200)], [marker(2, -100)], [marker(5, 0)]];
    const started = startCamera(photos, seen, 100);
    expect(started).toMatchObject({
      ok: false,
      problem: { code: 'photos-share-no-marker', data: { names: 'right.jpg' } },
    });
    if (!started.ok)
      expect(problemLine(started.problem)).toMatch(/right\.jpg.*one more photo that shows a marker of each/);
  });

  it('places photos that are tied to the first one only through another', () => {
    const seen = [[marker(1, -300), marker(2, 200)], [marker(5, 100)], [marker(2, -100), marker(5, 400)]];
    const started = startCamera(['a.jpg', 'b.jpg', 'c.jpg'].map(photo), seen, 100);
    expect(started.ok && started.value.state.markers.map((m) => m.id).sort()).toEqual([1, 2, 5]);
  });

  it('says which photo shows no marker at all', () => {
    const started = startCamera(['a.jpg', 'b.jpg'].map(photo), [[marker(1, 0)], []], 100);
    expect(started).toMatchObject({ ok: false, problem: { code: 'no-marker', data: { name: 'b.jpg' } } });
  });
});
