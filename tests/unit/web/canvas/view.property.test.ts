import fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  fitView,
  keepInSight,
  pictureFromScreen,
  screenFromPicture,
  viewOn,
  zoomAt,
} from '../../../../web/canvas/view.js';

const size = fc.record({ width: fc.integer({ min: 50, max: 12000 }), height: fc.integer({ min: 50, max: 12000 }) });
const box = fc.record({ width: fc.integer({ min: 100, max: 3000 }), height: fc.integer({ min: 100, max: 3000 }) });
const place = fc.record({
  x: fc.double({ min: -2000, max: 12000, noNaN: true }),
  y: fc.double({ min: -2000, max: 12000, noNaN: true }),
});
const limits = { least: 0.01, most: 40 };

test('screen and picture undo each other', () => {
  fc.assert(
    fc.property(size, box, place, (picture, room, p) => {
      const view = fitView(picture, room);
      const back = pictureFromScreen(view, screenFromPicture(view, p));
      expect(Math.hypot(back.x - p.x, back.y - p.y)).toBeLessThan(1e-6);
    }),
  );
});

test('the corners of the first and the last pixel are the corners of the fitted picture', () => {
  fc.assert(
    fc.property(size, box, (picture, room) => {
      const view = fitView(picture, room);
      const first = screenFromPicture(view, { x: -0.5, y: -0.5 });
      const last = screenFromPicture(view, { x: picture.width - 0.5, y: picture.height - 0.5 });
      expect(first.x).toBeCloseTo(view.left, 6);
      expect(last.x - first.x).toBeCloseTo(picture.width * view.scale, 6);
      expect(first.y + last.y).toBeCloseTo(room.height, 6);
    }),
  );
});

test('looking nearer leaves what lies under the finger where it is', () => {
  fc.assert(
    fc.property(size, box, fc.double({ min: 0.2, max: 5, noNaN: true }), place, (picture, room, factor, at) => {
      const view = fitView(picture, room);
      const under = pictureFromScreen(view, at);
      const after = screenFromPicture(zoomAt(view, factor, at, limits), under);
      expect(Math.hypot(after.x - at.x, after.y - at.y)).toBeLessThan(1e-6);
    }),
  );
});

test('however far it is pushed, a small picture stays in its frame and a large one covers the middle', () => {
  fc.assert(
    fc.property(size, box, place, fc.double({ min: 0.05, max: 10, noNaN: true }), (picture, room, push, times) => {
      const scale = fitView(picture, room).scale * times;
      const view = keepInSight({ scale, left: push.x * 50, top: -push.y * 50 }, picture, room);
      for (const [start, length, frame] of [
        [view.left, picture.width * scale, room.width],
        [view.top, picture.height * scale, room.height],
      ]) {
        const [first, last] = length <= frame ? [0, frame] : [frame / 2, frame / 2];
        const end = start + length;
        expect(
          length <= frame ? start >= first - 1e-6 && end <= last + 1e-6 : start <= first + 1e-6 && end >= last - 1e-6,
        ).toBe(true);
      }
    }),
  );
});

test('a view on some points has them all inside the frame, round its middle', () => {
  fc.assert(
    fc.property(fc.array(place, { minLength: 1, maxLength: 8 }), box, (points, room) => {
      const view = viewOn(points, room, 0.5, { least: 1e-6, most: 2 });
      for (const p of points) {
        const at = screenFromPicture(view, p);
        expect(Math.abs(at.x - room.width / 2)).toBeLessThanOrEqual(room.width / 2);
        expect(Math.abs(at.y - room.height / 2)).toBeLessThanOrEqual(room.height / 2);
      }
    }),
  );
});
