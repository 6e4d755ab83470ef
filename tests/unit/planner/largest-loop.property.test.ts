import { describe, expect, it } from 'vitest';
import { rectangle } from '../../support/make-report.js';
import { seededRandom } from '../../support/seeded-random.js';
import { ovalReport, planChecked, stockOf, wishesOf } from './plan-scene.js';

const stepMm = 1.5875;
const closingMm = 1.5;
const shortestMm = 38.1;
const kerfMm = 1;

interface Small {
  /** Both straights of the oval, the second one in the other order. */
  readonly pieces: readonly number[];
  /** How much longer both straights may become. */
  readonly roomMm: number;
  readonly straights: readonly { readonly lengthMm: number; readonly count: number }[];
  readonly donors: readonly number[];
}

function smallCase(seed: number): Small {
  const random = seededRandom(seed);
  const pick = <T>(items: readonly T[]): T => items[Math.floor(random() * items.length)];
  const pieces = Array.from({ length: 1 + Math.floor(random() * 3) }, () => pick([127, 254, 101.6]));
  const roomMm = 30 + random() * 500;
  const straights = [254, 127]
    .map((lengthMm) => ({ lengthMm, count: Math.floor(random() * 4) }))
    .filter((s) => s.count > 0);
  return { pieces, roomMm, straights, donors: pick([[], [254], [254, 222], [254, 254, 222]]) };
}

/** What one straight can be made of, without a filler. */
function makesOf({ pieces, straights }: Small): { mm: number; used: number[] }[] {
  let makes = Array.from({ length: 1 << pieces.length }, (_, set) => ({
    mm: pieces.reduce((sum, mm, i) => sum + (set & (1 << i) ? mm : 0), 0),
    used: [] as number[],
  }));
  for (const { lengthMm, count } of straights) {
    makes = makes.flatMap((m) =>
      Array.from({ length: count + 1 }, (_, n) => ({ mm: m.mm + n * lengthMm, used: [...m.used, n] })),
    );
  }
  return makes;
}

function canBeCut(fillers: readonly number[], roomsMm: readonly number[]): boolean {
  if (fillers.length === 0) return true;
  const [first, ...rest] = fillers;
  return roomsMm.some(
    (room, i) =>
      first + kerfMm <= room + 1e-6 &&
      canBeCut(
        rest,
        roomsMm.map((r, k) => (k === i ? r - first - kerfMm : r)),
      ),
  );
}

/** The longest both straights together can be made, by trying everything with at most one filler in each. */
function longestByTrying(small: Small): number {
  const present = small.pieces.reduce((a, b) => a + b, 0);
  const mostMm = present + small.roomMm;
  const longestFiller = Math.max(0, ...small.donors) - kerfMm;
  const filler = (needMm: number): number[] => {
    const mm = Math.floor(needMm / stepMm + 1e-9) * stepMm;
    return mm >= shortestMm - 1e-6 && mm <= longestFiller ? [mm] : [];
  };
  const makes = makesOf(small);
  let best = -Infinity;
  for (const a of makes) {
    for (const b of makes) {
      if (a.used.some((n, k) => n + b.used[k] > small.straights[k].count)) continue;
      const toB = filler(Math.min(mostMm, b.mm + closingMm) - a.mm);
      const toA = filler(Math.min(mostMm, a.mm + closingMm) - b.mm);
      const [inA, inB] = [filler(mostMm - a.mm), filler(mostMm - b.mm)];
      const both = inA.length > 0 && inB.length > 0 ? [{ a: inA, b: inB }] : [];
      for (const way of [{ a: [], b: [] }, { a: toB, b: [] }, { a: [], b: toA }, ...both]) {
        const [mmA, mmB] = [a.mm + (way.a[0] ?? 0), b.mm + (way.b[0] ?? 0)];
        if (Math.max(mmA, mmB) > mostMm + 0.01 || Math.abs(mmA - mmB) > closingMm) continue;
        if (canBeCut([...way.a, ...way.b], small.donors)) best = Math.max(best, mmA + mmB - 2 * present);
      }
    }
  }
  return best;
}

describe('the largest loop', () => {
  it('is as long as the longest that trying everything finds, within a step in each straight', async () => {
    for (let seed = 1; seed <= 12; seed++) {
      const small = smallCase(seed);
      const present = small.pieces.reduce((a, b) => a + b, 0);
      const reachMm = 60 + 31.75 / 2 + 4.6 + 381;
      const report = ovalReport(
        small.pieces.map((straight) => ({ straight })),
        [...small.pieces].reverse().map((straight) => ({ straight })),
        { start: [reachMm, reachMm - 300], table: rectangle(2 * reachMm + present + small.roomMm, 1200) },
      );
      const clearance = ['A', 'B', 'C', 'D'].map((side) => ({ side, atLeastMm: 60 }));
      const wishes = wishesOf({ prefer: 'largest-loop', clearance, stepMm, closingMm, shortestFillerMm: shortestMm });
      const stock = stockOf(small.donors, [...small.straights], kerfMm);
      const plan = await planChecked(report, wishes, stock, { alternatives: 0, timeLimitMs: 20_000 });
      const longerMm = plan.stretches.reduce((mm, s) => mm + s.thenMm - s.nowMm, 0);
      expect(plan.unmet, `seed ${seed}`).toEqual([]);
      expect(longerMm, `seed ${seed}`).toBeGreaterThanOrEqual(longestByTrying(small) - 2 * stepMm - 0.01);
    }
  }, 60_000);
});
