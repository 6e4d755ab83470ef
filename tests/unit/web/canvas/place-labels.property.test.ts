import fc from 'fast-check';
import { expect, test } from 'vitest';
import { boxAround, crosses, overlap, placeLabels, type Rect } from '../../../../web/canvas/place-labels.js';

const bounds: Rect = { left: 0, top: 0, right: 900, bottom: 600 };
const point = fc.record({
  x: fc.double({ min: 0, max: 900, noNaN: true }),
  y: fc.double({ min: 0, max: 600, noNaN: true }),
});
const labels = fc
  .array(
    fc.record({ anchor: point, width: fc.integer({ min: 40, max: 160 }), height: fc.integer({ min: 16, max: 30 }) }),
    { maxLength: 40 },
  )
  .map((list) => list.map((l, i) => ({ ...l, id: String(i) })));
const gaps = fc.array(fc.array(point, { minLength: 2, maxLength: 4 }).map(boxAround), { maxLength: 6 });
const rails = fc.array(fc.tuple(point, point), { maxLength: 60 });

test('labels never cover each other, never cover a gap, and stay on the picture', () => {
  fc.assert(
    fc.property(labels, gaps, rails, (wanted, keepFree, lines) => {
      const placed = placeLabels(wanted, keepFree, lines, bounds);
      placed.forEach((one, i) => {
        for (const other of placed.slice(i + 1)) expect(overlap(one.box, other.box)).toBe(false);
        for (const gap of keepFree) expect(overlap(one.box, gap)).toBe(false);
        expect(one.box.left).toBeGreaterThanOrEqual(bounds.left);
        expect(one.box.right).toBeLessThanOrEqual(bounds.right);
        expect(one.box.top).toBeGreaterThanOrEqual(bounds.top);
        expect(one.box.bottom).toBeLessThanOrEqual(bounds.bottom);
      });
    }),
    { numRuns: 60 },
  );
});

test('a label alone in the open always finds its place, near its anchor', () => {
  fc.assert(
    fc.property(
      fc.double({ min: 200, max: 700, noNaN: true }),
      fc.double({ min: 100, max: 500, noNaN: true }),
      (x, y) => {
        const [placed] = placeLabels([{ id: 'a', anchor: { x, y }, width: 120, height: 22 }], [], [], bounds);
        expect(placed).toBeDefined();
        const away = Math.hypot(
          Math.max(placed.box.left - x, 0, x - placed.box.right),
          Math.max(placed.box.top - y, 0, y - placed.box.bottom),
        );
        expect(away).toBeLessThanOrEqual(12);
      },
    ),
  );
});

test('a segment crosses a box exactly when some point of it lies inside', () => {
  const box: Rect = { left: 300, top: 200, right: 500, bottom: 330 };
  fc.assert(
    fc.property(point, point, (a, b) => {
      const steps = 4000;
      let inside = false;
      let nearest = Number.POSITIVE_INFINITY;
      for (let i = 0; i <= steps; i++) {
        const x = a.x + ((b.x - a.x) * i) / steps;
        const y = a.y + ((b.y - a.y) * i) / steps;
        const off = Math.max(box.left - x, x - box.right, box.top - y, y - box.bottom);
        inside ||= off <= 0;
        nearest = Math.min(nearest, Math.abs(off));
      }
      // Grazing a corner between two of the points tried is no contradiction.
      if (nearest > 0.5 || inside) expect(crosses([a, b], box)).toBe(inside);
    }),
    { numRuns: 40 },
  );
});
