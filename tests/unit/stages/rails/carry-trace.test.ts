import { describe, expect, it } from 'vitest';
import { type Camera, photoFromTable } from '../../../../server/geometry/camera.js';
import type { RailTrace } from '../../../../server/scene/rail-trace.js';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { carryTrace } from '../../../../server/stages/rails/carry-trace.js';

const cameraFrom = (heightMm: number): Camera => ({
  lens: { fx: 2000, fy: 2000, cx: 1000, cy: 750, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [0, 0, heightMm] },
});

describe('a trace carried over to another camera', () => {
  it('lies where the new one shows the same places, with the crests seen on its rails', () => {
    const samples = [
      { x: 200, y: 100, headingRad: 0.5, sidewaysMm: [0.1, 0, -0.1] as const, crestAsideMm: 0.4 },
      { x: 207, y: 104, headingRad: 0.5, sidewaysMm: [0.1, 0, -0.1] as const },
    ];
    const trace: RailTrace = { photo: 0, closed: false, stepMm: 8, light: { x: 0, y: 0, z: 20000 }, samples };
    const [from, to] = [cameraFrom(1500), cameraFrom(1600)];
    const carried = carryTrace(trace, from, to, tallTrack);
    const axisMm = tallTrack.railTopMm - tallTrack.headWidthMm / 2;
    carried.samples.forEach(({ x, y }, i) => {
      const before = photoFromTable(from, samples[i].x, samples[i].y, axisMm);
      const after = photoFromTable(to, x, y, axisMm);
      expect([after.x, after.y]).toEqual([expect.closeTo(before.x, 6), expect.closeTo(before.y, 6)]);
    });
    expect(carried.samples.map((s) => s.crestAsideMm)).toEqual([0.4, undefined]);
  });
});
