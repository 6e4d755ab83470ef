import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { nearestBetween } from '../../../server/planner/nearest-places.js';
import { placeOn, type Stroke } from '../../../server/planner/track-line.js';

const place = fc.tuple(fc.double({ min: 0, max: 800, noNaN: true }), fc.double({ min: 0, max: 800, noNaN: true }));
const line = fc.tuple(place, place).map(([from, to]): Stroke => ({ kind: 'line', from, to }));
const arc = fc
  .tuple(place, fc.double({ min: 40, max: 700, noNaN: true }), fc.double({ min: 0, max: 6.28, noNaN: true }))
  .chain(([centre, radius, start]) =>
    fc.tuple(fc.double({ min: 0.05, max: 6, noNaN: true }), fc.boolean()).map(
      ([sweep, left]): Stroke => ({
        kind: 'arc',
        centre,
        from: [centre[0] + radius * Math.cos(start), centre[1] + radius * Math.sin(start)],
        sweepRad: left ? sweep : -sweep,
      }),
    ),
  );
const stroke = fc.oneof(line, arc);

/** Tries 400 places of one stroke against 400 of the other. */
function byTrying(a: Stroke, b: Stroke): number {
  const count = 400;
  const places = [a, b].map((s) => Array.from({ length: count + 1 }, (_, i) => placeOn(s, i / count).at));
  let least = Infinity;
  for (const p of places[0]) for (const q of places[1]) least = Math.min(least, Math.hypot(p[0] - q[0], p[1] - q[1]));
  return least;
}

describe('nearest places of two strokes', () => {
  it('are never further apart than the best of many tries, and hardly nearer', () => {
    fc.assert(
      fc.property(stroke, stroke, (a, b) => {
        const tried = byTrying(a, b);
        const { distanceMm, shares, places } = nearestBetween(a, b);
        expect(distanceMm).toBeLessThanOrEqual(tried + 1e-6);
        // Tries are at most 10.5 mm apart on the longest arc: 700 mm, 6 rad.
        expect(distanceMm).toBeGreaterThanOrEqual(tried - 10.5);
        [a, b].forEach((s, i) => {
          const at = placeOn(s, shares[i]).at;
          expect(Math.hypot(at[0] - places[i][0], at[1] - places[i][1])).toBeLessThan(1e-9);
        });
      }),
      { numRuns: 150, seed: 20_261_125 },
    );
  });

  it('are as far apart as the radii of two arcs about one centre differ', () => {
    const a: Stroke = { kind: 'arc', centre: [0, 0], from: [381, 0], sweepRad: 1 };
    const b: Stroke = { kind: 'arc', centre: [0, 0], from: [0, -495.3], sweepRad: 2 };
    expect(nearestBetween(a, b).distanceMm).toBeCloseTo(495.3 - 381, 9);
  });

  it('of two lines that cross are the crossing', () => {
    const a: Stroke = { kind: 'line', from: [0, 0], to: [100, 100] };
    const b: Stroke = { kind: 'line', from: [0, 100], to: [100, 0] };
    expect(nearestBetween(a, b)).toMatchObject({ distanceMm: 0, shares: [0.5, 0.5] });
  });
});
