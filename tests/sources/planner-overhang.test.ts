import { existsSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { sweepCar } from '../../server/planner/car-sweep.js';
import { overhang } from '../../server/planner/overhang.js';

const car = { lengthMm: 11, truckCentresMm: 7.5, widthMm: 2.5 };

describe('overhang of a car on a curve', () => {
  it('gives the worked values (inches; recomputed from the exact formula)', () => {
    expect(overhang(12.5, car).inside).toBeCloseTo(1.8258, 4);
    expect(overhang(12.5, car).outside).toBeCloseTo(1.7762, 4);
    expect(overhang(14.142, car).inside).toBeCloseTo(1.7563, 4);
    expect(overhang(14.142, car).outside).toBeCloseTo(1.7273, 4);
  });

  it('is what a car swept along a circle reaches', () => {
    const radius = 381;
    const long = { lengthMm: 381, truckCentresMm: 266.7, widthMm: 69.9 };
    const circle = {
      run: 'R1',
      closed: true,
      strokes: [{ kind: 'arc' as const, from: [radius, 0] as const, centre: [0, 0] as const, sweepRad: 2 * Math.PI }],
    };
    const bodies = sweepCar(circle, long, 20);
    expect(bodies.length).toBeGreaterThan(100);
    const farthest = Math.max(...bodies.flatMap((b) => b.map((p) => Math.hypot(p[0], p[1]))));
    expect(farthest - radius).toBeCloseTo(overhang(radius, long).outside, 3);
    const nearest = Math.min(
      ...bodies.map((b) => Math.min(...[0, 1, 2, 3].map((i) => distanceToLine(b[i], b[(i + 1) % 4])))),
    );
    expect(radius - nearest).toBeCloseTo(overhang(radius, long).inside, 3);
  });

  const table = resolve(import.meta.dirname, '../../../shared/data/tables/nem103_2016_O_S.csv');
  it.skipIf(!existsSync(table))(
    'leaves a²/(8R) − E between 2 and 4 mm on every row of NEM 103 (MOROP, 2016) for O',
    () => {
      // Distances of the pivots of groups A, B and C: 14.0, 17.2 and 19.5 m at 1:43.5, as the sheet's own lengths are.
      const pivots = [14000, 17200, 19500].map((mm) => mm / 43.5);
      const rows = readFileSync(table, 'utf8')
        .split('\n')
        .filter((line) => /^\d/.test(line));
      expect(rows.length).toBeGreaterThan(10);
      for (const row of rows) {
        const [radius, ...widenings] = row.split(',').map((cell) => (cell.trim() === '' ? null : Number(cell)));
        widenings.slice(0, 3).forEach((widening, group) => {
          if (widening === null || radius === null) return;
          const shift = pivots[group] ** 2 / (8 * radius) - widening;
          expect(shift).toBeGreaterThan(1.95);
          expect(shift).toBeLessThan(4.05);
          // The exact inner overhang, body width aside, is what a²/(8R) approximates from below.
          const exact = overhang(radius, { lengthMm: 1, truckCentresMm: pivots[group], widthMm: 0 }).inside;
          expect(exact - pivots[group] ** 2 / (8 * radius)).toBeGreaterThan(0);
          expect(exact - pivots[group] ** 2 / (8 * radius)).toBeLessThan(1);
        });
      }
    },
  );
});

/** Distance of the origin from a segment. */
function distanceToLine(a: readonly [number, number], b: readonly [number, number]): number {
  const d = [b[0] - a[0], b[1] - a[1]];
  const share = Math.max(0, Math.min(1, -(a[0] * d[0] + a[1] * d[1]) / (d[0] ** 2 + d[1] ** 2)));
  return Math.hypot(a[0] + share * d[0], a[1] + share * d[1]);
}
