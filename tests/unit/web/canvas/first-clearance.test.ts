import { expect, test } from 'vitest';
import { firstClearanceMm } from '../../../../web/canvas/first-clearance.js';

const clearances = (...values: [string, number][]) =>
  ({ clearances: values.map(([side, value]) => ({ side, distance: { value, u: 0.2 } })) }) as never;

test('a new wish starts from what is there, down to a quarter inch or 5 mm, and from 3 in where less is there', () => {
  const there = clearances(['A', 5.7 * 25.4], ['A', 9 * 25.4], ['B', 60]);
  expect(firstClearanceMm(there, 'A', 'in')).toBeCloseTo(5.5 * 25.4, 9);
  expect(firstClearanceMm(there, 'A', 'mm')).toBe(140);
  expect(firstClearanceMm(there, 'B', 'in')).toBeCloseTo(76.2, 9);
  expect(firstClearanceMm(there, 'C', 'mm')).toBeCloseTo(76.2, 9);
});
