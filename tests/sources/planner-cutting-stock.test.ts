import { existsSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { countStock, type Demand } from '../../server/planner/count-stock.js';

/** Groups equal lengths. */
function demandsOf(lengths: readonly number[]): Demand[] {
  const counts = new Map<number, number>();
  for (const length of lengths) counts.set(length, (counts.get(length) ?? 0) + 1);
  return [...counts].map(([lengthMm, count]) => ({ lengthMm, count }));
}

function checkPatterns(demands: readonly Demand[], stock: number, result: Awaited<ReturnType<typeof countStock>>) {
  for (const pattern of result.patterns) {
    const used = pattern.pieces.reduce((sum, n, i) => sum + n * demands[i].lengthMm, 0);
    expect(used).toBeLessThanOrEqual(stock);
  }
  demands.forEach((demand, i) => {
    const made = result.patterns.reduce((sum, p) => sum + p.times * p.pieces[i], 0);
    expect(made).toBeGreaterThanOrEqual(demand.count);
  });
}

describe('published cutting-stock numbers', () => {
  it('cuts 219 pieces of 13 widths from 73 rolls of 5600 (textbook example, waste 0.401 %)', async () => {
    const widths = [1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200];
    const counts = [22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20];
    const demands = widths.map((lengthMm, i) => ({ lengthMm, count: counts[i] }));
    const result = await countStock(demands, 5600, 0);
    expect(result.count).toBe(73);
    expect(result.bound).toBe(73);
    const total = demands.reduce((sum, d) => sum + d.lengthMm * d.count, 0);
    expect(((73 * 5600 - total) / (73 * 5600)) * 100).toBeCloseTo(0.401, 3);
    checkPatterns(demands, 5600, result);
  });

  it('needs 453 rolls for the example of Chvátal, Linear Programming (1983), chapter 13 (data from memory)', async () => {
    const demands = [
      { lengthMm: 45, count: 97 },
      { lengthMm: 36, count: 610 },
      { lengthMm: 31, count: 395 },
      { lengthMm: 14, count: 211 },
    ];
    const result = await countStock(demands, 100, 0);
    expect(result.count).toBe(453);
    checkPatterns(demands, 100, result);
  });

  it('packs PM_u010_01 into 5 and PM_u020_01 into 7 bins of 150', async () => {
    const ten = [24, 44, 76, 78, 52, 96, 58, 67, 74, 59];
    const twenty = [52, 60, 67, 23, 26, 45, 76, 43, 85, 82, 41, 56, 25, 83, 50, 72, 23, 39, 21, 39];
    expect((await countStock(demandsOf(ten), 150, 0)).count).toBe(5);
    expect((await countStock(demandsOf(twenty), 150, 0)).count).toBe(7);
  });

  const file = resolve(import.meta.dirname, '../../../shared/data/binpacking/Falkenauer_u120_00.txt');
  it.skipIf(!existsSync(file))(
    'packs Falkenauer u120_00 into 48 bins, one fewer than first fit decreasing',
    async () => {
      const [count, room, ...lengths] = readFileSync(file, 'utf8').trim().split(/\s+/).map(Number);
      expect(lengths).toHaveLength(count);
      const result = await countStock(demandsOf(lengths), room, 0);
      expect(result.count).toBe(48);
      checkPatterns(demandsOf(lengths), room, result);
    },
  );

  it('gives the same count for pieces with a kerf and for longer pieces in longer stock without one', async () => {
    const widths = [1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000];
    const counts = [22, 25, 12, 14, 18, 18, 20, 10];
    const demands = widths.map((lengthMm, i) => ({ lengthMm, count: counts[i] }));
    for (const kerf of [0, 1, 3, 40]) {
      const shifted = demands.map((d) => ({ ...d, lengthMm: d.lengthMm + kerf }));
      const withKerf = await countStock(demands, 5600, kerf);
      const without = await countStock(shifted, 5600 + kerf, 0);
      expect(withKerf.count).toBe(without.count);
      expect(withKerf.bound).toBe(without.bound);
    }
  });
});
