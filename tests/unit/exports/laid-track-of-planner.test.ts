import { beforeAll, describe, expect, it } from 'vitest';
import type { Plan } from '../../../server/contract/plan.js';
import type { Report } from '../../../server/contract/report.js';
import { stockFormat, stockSchema } from '../../../server/contract/stock.js';
import { wishesFormat, wishesSchema } from '../../../server/contract/wishes.js';
import { cutListOf } from '../../../server/exports/cut-list.js';
import { laidTrack, type Point, type Stroke } from '../../../server/exports/laid-track.js';
import { planFillers } from '../../../server/planner/plan-fillers.js';
import { ovalReport } from '../../support/bench-plans.js';

const outsideFaceMm = 31.75 / 2 + 4.6;

describe('track laid out from a plan that the planner made', () => {
  let report: Report;
  let plan: Plan;

  beforeAll(async () => {
    report = ovalReport([60]);
    const wishes = wishesSchema.parse({
      format: wishesFormat,
      clearance: [
        { side: 'B', atLeastMm: 700 },
        { side: 'D', atLeastMm: 150 },
        { side: 'A', atLeastMm: 200 },
      ],
      allowFreed: true,
    });
    const donors = [1, 2, 3, 4].map((i) => ({ id: `d${i}`, lengthMm: 254 }));
    const straights = [{ lengthMm: 254, count: 6 }];
    const stock = stockSchema.parse({ format: stockFormat, straights, donors });
    const made = await planFillers(report, wishes, stock, { alternatives: 0, timeLimitMs: 20_000 });
    if (!made.ok) throw new Error(JSON.stringify(made.problem));
    plan = made.value;
  }, 60_000);

  it('keeps the clearances that the planner predicts', () => {
    const strokes = laidTrack(report, plan)[0].strokes;
    for (const { side, distance } of plan.predicted.clearances) {
      const line = report.table.sides.find((s) => s.name === side);
      if (line === undefined) throw new Error(`no side ${side}`);
      const nearest = Math.min(...strokes.flatMap(pointsOf).map((p) => distanceTo(line, p)));
      expect(Math.abs(nearest - outsideFaceMm - distance.value), `side ${side}`).toBeLessThan(0.2);
    }
    expect(plan.predicted.clearances.map((c) => c.side).sort()).toEqual(['A', 'B', 'C', 'D']);
  });

  it('is about a plan that moves the track', () => {
    expect(plan.stretches.some((s) => Math.abs(s.thenMm - s.nowMm) > 20)).toBe(true);
  });

  it('closes as the planner says', () => {
    const strokes = laidTrack(report, plan)[0].strokes;
    const closing = plan.predicted.closing[0];
    const off = [strokes.at(-1)?.to[0] ?? 0, strokes.at(-1)?.to[1] ?? 0];
    const at = strokes[0].from;
    expect(Math.hypot(off[0] - at[0], off[1] - at[1])).toBeLessThan(Math.hypot(closing.dxMm, closing.dyMm) + 0.05);
  });

  it('leads to cuts that fit their donors', () => {
    const list = cutListOf(plan);
    expect(list.fillers.length).toBe(plan.fillers.length);
    for (const donor of list.donors) {
      donor.pieces.forEach((piece, i) => {
        const length = plan.fillers.find((f) => f.id === piece.filler)?.lengthMm as number;
        expect(piece.toMm - piece.fromMm).toBeCloseTo(length, 2);
        expect(piece.fromMm).toBeGreaterThanOrEqual(i === 0 ? 0 : donor.pieces[i - 1].toMm + list.kerfMm - 0.01);
      });
      expect(donor.pieces.at(-1)?.toMm).toBeLessThanOrEqual(donor.lengthMm + 0.01);
    }
  });
});

function pointsOf(stroke: Stroke): Point[] {
  if (stroke.kind === 'straight') return [stroke.from, stroke.to];
  const start = Math.atan2(stroke.from[1] - stroke.centre[1], stroke.from[0] - stroke.centre[0]);
  return Array.from({ length: 201 }, (_, i) => {
    const angle = start + (stroke.sweepRad * i) / 200;
    return [stroke.centre[0] + stroke.radiusMm * Math.cos(angle), stroke.centre[1] + stroke.radiusMm * Math.sin(angle)];
  });
}

function distanceTo(side: Report['table']['sides'][number], at: Point): number {
  const dx = side.to[0] - side.from[0];
  const dy = side.to[1] - side.from[1];
  return Math.abs(dx * (at[1] - side.from[1]) - dy * (at[0] - side.from[0])) / Math.hypot(dx, dy);
}
