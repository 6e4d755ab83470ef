import { describe, expect, it } from 'vitest';
import type { Camera } from '../../../../server/geometry/camera.js';
import type { CentreLine } from '../../../../server/scene/rail-joint.js';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { heightsOnHead, railParts } from '../../../../server/stages/joints/rail-parts.js';

/** Eye of a camera that looks straight down; the track lies along x to one side of it. */
const eye = { x: 600, y: -500, z: 1000 };
const camera: Camera = {
  lens: { fx: 1000, fy: 1000, cx: 32, cy: 32, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [-eye.x, eye.y, eye.z] },
};
const line: CentreLine = {
  stepMm: 4,
  closed: false,
  places: Array.from({ length: 300 }, (_, i) => ({ x: 4 * i, y: 0, headingRad: 0 })),
};
const raster = { widthPx: 64, heightPx: 64, channels: 3 as const, data: new Uint8Array(64 * 64 * 3) };

describe('the columns of a round head', () => {
  it.each([40, 350, 600, 900, 1150])('show a square end where lines of sight to its ring pass, at x = %d', (x0) => {
    const shape = { stepMm: 0.5, acrossStepMm: 0.01, headShare: 0.95, rimMm: 0.3 };
    const [view] = railParts({ raster, camera, track: tallTrack, line }, x0 - 1, x0 + 1, shape).filter(
      (v) => v.part === 'head' && v.strip.rail === 0,
    );
    const radius = tallTrack.headWidthMm / 2;
    const axis = tallTrack.railTopMm - radius;
    const plane = axis + radius / 2;
    const middle = (view.strip.columns - 1) / 2;
    let compared = 0;
    for (let turn = -1.5; turn <= 1.5; turn += 0.1) {
      const [y, z] = [radius * Math.sin(turn), axis + radius * Math.cos(turn)];
      // Only what faces the eye is seen.
      if (y * (eye.y - y) + (z - axis) * (eye.z - z) < 0.1) continue;
      const along = (plane - z) / (eye.z - z);
      const column = Math.round((y + along * (eye.y - y)) / shape.acrossStepMm + middle);
      if (column < 0 || column >= view.strip.columns) continue;
      expect(view.shiftMmAt(2, column)).toBeCloseTo(along * (eye.x - x0), 1.5);
      compared++;
    }
    expect(compared).toBeGreaterThan(8);
  });
});

describe('a line of sight past a round head', () => {
  it.each([-0.7, -0.2, 0, 0.5, 1])(
    'meets it and leaves it where it lies on the circle, leaning %d to the left',
    (left) => {
      const radius = 2.4;
      for (const aside of [-1.9, -0.6, 0, 0.4, 2.1]) {
        const { upperMm, lowerMm } = heightsOnHead(aside, left, radius);
        expect(upperMm).toBeGreaterThan(lowerMm);
        for (const h of [upperMm, lowerMm]) expect(Math.hypot(aside + left * h, h)).toBeCloseTo(radius, 9);
      }
    },
  );

  it('touches it where it would pass by', () => {
    const { upperMm, lowerMm } = heightsOnHead(9, 0.5, 2.4);
    expect(upperMm).toBe(lowerMm);
  });
});
