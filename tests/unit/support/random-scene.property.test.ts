import fc from 'fast-check';
import { expect, it } from 'vitest';
import { photoFromTable } from '../../../server/geometry/camera.js';
import { busyScene } from '../../support/photos/busy-scene.mjs';
import { randomScene } from '../../support/photos/random-scene.mjs';
import { buildScene } from '../../support/photos/scene-catalogue.mjs';
import { SceneWorld } from '../../support/photos/scene-world.mjs';
import { placeOn } from '../../support/photos/track-layout.mjs';
import { truthOf } from '../../support/photos/truth-file.mjs';

function drawn(number: number) {
  const { scene, camera } = buildScene(randomScene(number));
  const truth = truthOf(scene, camera, new SceneWorld(scene));
  return { scene, truth };
}

it('drawn scenes lie on their table, closed joints are 0 to 2 mm wide and at most 0.6° askew, loops close', () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 10_000 }), (number) => {
      const { scene, truth } = drawn(number);
      for (const { clearance } of Object.values(truth.side_clearances) as { clearance: number }[])
        expect(clearance).toBeGreaterThan(3.9);
      for (const joint of truth.joints) {
        expect(Math.abs(joint.skew_deg)).toBeLessThanOrEqual(0.6);
        expect(joint.gap).toBeGreaterThanOrEqual(joint.open ? 8 : 0);
        expect(joint.gap).toBeLessThanOrEqual(joint.open ? 60 : 2);
      }
      for (const { closed, joints, sections } of scene.chains) {
        if (!closed) continue;
        // Walk round once more: the last joint must lead to the first section's start.
        const end = placeOn(sections.at(-1), sections.at(-1).length);
        const { gap, skew, lateral } = joints.at(-1);
        const middle = end.heading + skew / 2;
        const x = end.x + gap * Math.cos(middle) - lateral * Math.sin(middle);
        const y = end.y + gap * Math.sin(middle) + lateral * Math.cos(middle);
        expect(Math.hypot(x - sections[0].start.x, y - sections[0].start.y)).toBeLessThan(1e-6);
      }
    }),
    { numRuns: 12 },
  );
});

it('pixels of the truth are the projection of its millimetres, by the camera model of the measuring too', () => {
  const { truth } = drawn(7);
  const { fx, cx, cy, k1, k2, p1, p2, R, t } = truth.camera;
  const [tx, ty, tz] = t;
  const lens = { fx, fy: fx, cx, cy, k1, k2, p1, p2 };
  const camera = { lens, cameraFromTable: { rotation: R.flat(), translation: [tx, ty, tz] as const } };
  for (const marker of truth.markers)
    marker.corners.forEach(([x, y, z]: number[], i: number) => {
      const { x: px, y: py } = photoFromTable(camera, x, y, z);
      expect(Math.hypot(px - marker.corners_px[i][0], py - marker.corners_px[i][1])).toBeLessThan(0.002);
    });
});

it('a busy table has track and sheets of the scene it is drawn from, and things that lie on neither', () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 10_000 }), (number) => {
      const [plain, busy] = [randomScene(number), busyScene(number)];
      expect(busy.chains).toEqual(plain.chains);
      expect(busy.markers).toEqual(plain.markers);
      expect(busy.things.slice(0, plain.things.length)).toEqual(plain.things);
      const laid = busy.things.slice(plain.things.length);
      const { chains } = buildScene(plain).scene;
      for (const { what, x, y, z } of laid) {
        if (what === 'wire' || z !== undefined) continue;
        for (const m of plain.markers) expect(Math.hypot(m.x - x, m.y - y)).toBeGreaterThan(m.side);
        for (const { sections } of chains)
          for (const s of sections) {
            const middle = placeOn(s, s.length / 2);
            expect(Math.hypot(middle.x - x, middle.y - y)).toBeGreaterThan(28);
          }
      }
    }),
    { numRuns: 6 },
  );
});
