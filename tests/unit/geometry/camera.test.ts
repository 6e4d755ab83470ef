import { describe, expect, it } from 'vitest';
import {
  type Camera,
  distort,
  photoFromTable,
  tableFromPhotoAtHeight,
  undistort,
} from '../../../server/geometry/camera.js';
import {
  emptyProjection,
  projectLevelStep,
  projectWithDerivatives,
} from '../../../server/geometry/project-with-derivatives.js';
import { composedRotation, multiply3, rotationFromVector } from '../../../server/geometry/rotation.js';
import { seededRandom } from '../../support/seeded-random.js';

const lens = { fx: 2900, fy: 2900, cx: 2010, cy: 1520, k1: -0.06, k2: 0.015, p1: 2e-4, p2: -3e-4 };
const rotation = multiply3(rotationFromVector(Math.PI - 0.2, 0.1, 0.05), rotationFromVector(0, 0, 0.3));
const camera: Camera = { lens, cameraFromTable: { rotation, translation: [-300, 250, 1500] } };

describe('camera', () => {
  it('undistorts what it distorts', () => {
    const random = seededRandom(1);
    for (let i = 0; i < 200; i++) {
      const x = (random() - 0.5) * 1.6;
      const y = (random() - 0.5) * 1.2;
      const [u, v] = undistort(lens, ...distort(lens, x, y));
      expect(Math.hypot(u - x, v - y)).toBeLessThan(1e-10);
    }
  });

  it('finds a photo point back on the table at each height', () => {
    for (const z of [0, 7, 17.5])
      for (const [x, y] of [
        [0, 0],
        [800, 300],
        [-500, 600],
      ]) {
        const p = photoFromTable(camera, x, y, z);
        const q = tableFromPhotoAtHeight(camera, p.x, p.y, z);
        expect(Math.hypot(q.x - x, q.y - y)).toBeLessThan(1e-6);
      }
  });

  it('shows a rail top away from its foot when the camera stands aside', () => {
    const foot = photoFromTable(camera, 900, 300, 0);
    const top = photoFromTable(camera, 900, 300, 17.5);
    expect(Math.hypot(top.x - foot.x, top.y - foot.y)).toBeGreaterThan(5);
  });

  it('derives a projection as central differences do', () => {
    const out = emptyProjection();
    const at = [420, -130, 15.2] as const;
    projectWithDerivatives(camera, ...at, out);
    const own = { byPoint: [...out.byPoint], byPose: [...out.byPose], byLens: [...out.byLens] };
    const compare = (value: number, plus: number, minus: number, h: number): void =>
      expect(Math.abs(value - (plus - minus) / (2 * h))).toBeLessThan(1e-4 * (1 + Math.abs(value)));
    for (let k = 0; k < 3; k++) {
      const h = 1e-3;
      const moved = (d: number) =>
        photoFromTable(camera, ...(at.map((v, i) => v + (i === k ? d : 0)) as [number, number, number]));
      compare(own.byPoint[k], moved(h).x, moved(-h).x, h);
      compare(own.byPoint[3 + k], moved(h).y, moved(-h).y, h);
    }
    for (let k = 0; k < 6; k++) {
      const h = k < 3 ? 1e-6 : 1e-3;
      const moved = (d: number) => {
        const w = [0, 0, 0, 0, 0, 0];
        w[k] = d;
        const t = camera.cameraFromTable.translation;
        return photoFromTable(
          {
            lens,
            cameraFromTable: {
              rotation: multiply3(rotationFromVector(w[0], w[1], w[2]), rotation),
              translation: [t[0] + w[3], t[1] + w[4], t[2] + w[5]],
            },
          },
          ...at,
        );
      };
      compare(own.byPose[k], moved(h).x, moved(-h).x, h);
      compare(own.byPose[6 + k], moved(h).y, moved(-h).y, h);
    }
    const names = [['fx', 'fy'], ['k1'], ['k2'], ['cx'], ['cy'], ['p1'], ['p2']] as const;
    names.forEach((keys, k) => {
      const h = k === 0 || k === 3 || k === 4 ? 1e-2 : 1e-6;
      const moved = (d: number) =>
        photoFromTable(
          { ...camera, lens: { ...lens, ...Object.fromEntries(keys.map((key) => [key, lens[key] + d])) } },
          ...at,
        );
      compare(own.byLens[k], moved(h).x, moved(-h).x, h);
      compare(own.byLens[7 + k], moved(h).y, moved(-h).y, h);
    });
  });

  it('tells how a point moves level as the whole derivatives do', () => {
    const out = emptyProjection();
    projectWithDerivatives(camera, 420, -130, 15.2, out);
    const step = new Float64Array(4);
    projectLevelStep(camera, 420, -130, 15.2, 0.6, 0.8, step);
    const p = out.byPoint;
    [out.u, out.v, 0.6 * p[0] + 0.8 * p[1], 0.6 * p[3] + 0.8 * p[4]].forEach((value, i) => {
      expect(Math.abs(step[i] - value)).toBeLessThan(1e-9);
    });
  });
});

describe('rotation vectors', () => {
  it('compose as their matrices do, small and large, up to half a turn and beyond', () => {
    const random = seededRandom(5);
    const vector = (size: number): [number, number, number] => [
      (random() - 0.5) * size,
      (random() - 0.5) * size,
      (random() - 0.5) * size,
    ];
    for (const size of [0, 1e-13, 1e-6, 0.1, 2, 3.5])
      for (let i = 0; i < 20; i++) {
        const [after, before] = [vector(size), vector(i % 2 === 0 ? size : 0.3)];
        const both = rotationFromVector(...composedRotation(after, before));
        const expected = multiply3(rotationFromVector(...after), rotationFromVector(...before));
        both.forEach((v, k) => {
          expect(Math.abs(v - expected[k])).toBeLessThan(1e-12);
        });
      }
  });
});
