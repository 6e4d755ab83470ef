import { describe, expect, it } from 'vitest';
import { makeReport, oval, rectangle, type Section } from '../../support/make-report.js';
import { ovalReport, planChecked, stockOf, wishesOf } from './plan-scene.js';

const s = (straight: number) => ({ straight });
const legs = (): Section[] => [s(254), s(127), s(127)];

describe('making the track fit its table', () => {
  it('leaves everything alone when every wish is met already', async () => {
    const report = ovalReport(legs(), legs());
    const wishes = wishesOf({ clearance: [{ side: 'A', atLeastMm: 100 }] });
    const plan = await planChecked(report, wishes, stockOf([254]));
    expect(plan).toMatchObject({ cuts: 0, changedSections: 0, shift: { R1: [0, 0] }, unmet: [] });
  });

  it('only shifts a loop that has room on the other side', async () => {
    const report = ovalReport(legs(), legs(), { start: [600, 60] });
    const wishes = wishesOf({ clearance: [{ side: 'A', atLeastMm: 76.2 }] });
    const plan = await planChecked(report, wishes, stockOf([254]));
    expect(plan).toMatchObject({ cuts: 0, changedSections: 0, unmet: [] });
    expect(plan.shift.R1[1]).toBeCloseTo(76.2 + 20.475 - 60, 1);
    expect(plan.shift.R1[0]).toBe(0);
  });

  it('fills the gaps and shifts the loop, rather than take sections out, where that is all it needs', async () => {
    const report = ovalReport([s(254), { gap: 50.8 }, s(127)], [s(254), s(127), { gap: 50.8 }], { start: [600, 60] });
    const wishes = wishesOf({ clearance: [{ side: 'A', atLeastMm: 76.2 }] });
    const plan = await planChecked(report, wishes, stockOf([254]), { timeLimitMs: 4000 });
    expect(plan.fillers.map((f) => f.lengthMm)).toEqual([50.8, 50.8]);
    expect(plan.shift.R1[1]).toBeCloseTo(76.2 + 20.475 - 60, 1);
    expect(plan.alternatives.find((a) => a.kind === 'take-up')?.cuts).toBe(0);
  });

  it('takes a section out of both straights when the table is too short, without a cut', async () => {
    const report = ovalReport(legs(), legs(), { table: rectangle(1400, 1200), start: [461, 200] });
    const ends = ['B', 'D'].map((side) => ({ side, atLeastMm: 90 }));
    const plan = await planChecked(report, wishesOf({ clearance: ends }), stockOf([254]));
    expect(plan).toMatchObject({ cuts: 0, unmet: [] });
    expect(plan.stretches.map((x) => x.thenMm)).toEqual([381, 381]);
  });

  it('cuts equal fillers for both straights when no section fits', async () => {
    const report = ovalReport([s(254)], [s(254)], { table: rectangle(1200, 1200), start: [461, 200] });
    const ends = ['B', 'D'].map((side) => ({ side, atLeastMm: 90 }));
    const plan = await planChecked(report, wishesOf({ clearance: ends }), stockOf([254]));
    expect(plan.unmet).toEqual([]);
    expect(plan.cuts === 0 || plan.fillers.length === 2).toBe(true);
  });

  it('grows the loop as far as it goes when the largest is asked for', async () => {
    const report = ovalReport([s(254)], [s(254)], { start: [600, 200] });
    const sides = ['A', 'B', 'C', 'D'].map((side) => ({ side, atLeastMm: 76.2 }));
    const wishes = wishesOf({ clearance: sides, prefer: 'largest-loop' });
    const plan = await planChecked(report, wishes, stockOf([254, 254, 254, 254], [{ lengthMm: 254, count: 8 }]));
    const room = 2000 - 2 * (76.2 + 20.475 + 381);
    for (const stretch of plan.stretches) {
      expect(stretch.thenMm).toBeLessThanOrEqual(room + 0.01);
      expect(stretch.thenMm).toBeGreaterThan(room - 2 * 1.5875);
    }
  });

  it('keeps a wish for part of a side to that part', async () => {
    const report = ovalReport(legs(), legs(), { start: [600, 60] });
    const beyond = wishesOf({ clearance: [{ side: 'A', atLeastMm: 76.2, fromMm: 1600, toMm: 2000 }] });
    const plan = await planChecked(report, beyond, stockOf([254]));
    expect(plan.shift).toEqual({ R1: [0, 0] });
    const along = wishesOf({ clearance: [{ side: 'A', atLeastMm: 76.2, fromMm: 700, toMm: 900 }] });
    expect((await planChecked(report, along, stockOf([254]))).shift.R1[1]).toBeGreaterThan(36);
  });

  it('keeps the track out of a turned zone with its margin', async () => {
    const report = ovalReport(legs(), legs());
    const tower = { name: 'tower', centre: [850, 215], widthMm: 90, depthMm: 60, angleRad: 0.4, marginMm: 5 };
    const plan = await planChecked(report, wishesOf({ keepFree: [tower] }), stockOf([254]));
    expect(plan.unmet).toEqual([]);
    expect(Math.hypot(...plan.shift.R1)).toBeGreaterThan(20);
  });

  it('keeps two loops apart by moving what is needed and no more', async () => {
    const runs = [
      oval('R1', { start: [700, 300], headingDeg: 0, radius: 320 }, legs(), legs()),
      oval('R2', { start: [700, 205], headingDeg: 0, radius: 434 }, legs(), legs()),
    ];
    const report = makeReport({ runs, outline: rectangle(2200, 1300) });
    const wishes = wishesOf({ spacing: [{ runs: ['R1', 'R2'], atLeastMm: 108 }] });
    const plan = await planChecked(report, wishes, stockOf([254]));
    expect(plan).toMatchObject({ cuts: 0, changedSections: 0, unmet: [] });
    expect(plan.predicted.spacings?.[0].distance.value).toBeGreaterThanOrEqual(108);
  });

  it('moves nothing that is to stay', async () => {
    const report = ovalReport(legs(), legs(), { start: [600, 60] });
    const stay = [{ run: 'R1', pieces: [0] }];
    const wishes = wishesOf({ clearance: [{ side: 'A', atLeastMm: 76.2 }], stay });
    const plan = await planChecked(report, wishes, stockOf([254]));
    expect(plan.unmet[0]).toMatchObject({ wish: 'clearance A' });
    expect(plan.unmet[0].shortByMm).toBeGreaterThan(34);
    expect(plan.unmet[0].cure).toContain('piece 0 of R1');
  });

  it('moves nothing that is to stay, though a filler before it is rounded and a wish would gain by it', async () => {
    const sections = [s(254), { gap: 50.1 }, s(254)];
    const report = ovalReport(sections, sections, { start: [600, 60] });
    const stay = [{ run: 'R1', pieces: [1] }];
    const wishes = wishesOf({ clearance: [{ side: 'A', atLeastMm: 76.2 }], stay });
    const plan = await planChecked(report, wishes, stockOf([254]));
    const [row] = plan.stretches;
    expect(row.order).toEqual([{ piece: 0 }, { filler: 'F1' }, { piece: 1 }]);
    // F1 is 0.7 mm longer than its gap: what lies before it makes room.
    expect(plan.shift['R1'][0]).toBeCloseTo(-(row.thenMm - row.nowMm), 3);
    expect(plan.shift['R1'][1]).toBe(0);
  });

  it('lets a loop that is to be as large as can be come nearer to the edge than is safe where a wish needs it', async () => {
    const report = ovalReport(legs(), legs(), { table: rectangle(2000, 900), start: [600, 60] });
    // The loop is 803 mm wide from rail face to rail face.
    const clearance = [{ side: 'C', atLeastMm: 85 }];
    const plan = await planChecked(report, wishesOf({ clearance, prefer: 'largest-loop' }), stockOf([254]));
    expect(plan.unmet).toEqual([]);
    expect(plan.predicted.clearances.find((c) => c.side === 'A')?.distance.value).toBeGreaterThan(0);
  });

  it.each([
    ['in its middle', 840, 870, 450],
    ['at a bend', 860, 1200, 400],
  ])('moves a loop inwards for a wish about part of a side, %s, which no track leaves sideways', async (_, ...wish) => {
    const [fromMm, toMm, atLeastMm] = wish;
    const report = ovalReport(legs(), legs(), { table: rectangle(1800, 1300), start: [600, 120] });
    const clearance = [{ side: 'A', atLeastMm, fromMm, toMm }];
    const plan = await planChecked(report, wishesOf({ clearance }), stockOf([254]));
    expect(plan).toMatchObject({ unmet: [], cuts: 0, changedSections: 0 });
  });

  it('comes as near as can be to a wish for part of a side that cannot be met', async () => {
    const report = ovalReport(legs(), legs(), { table: rectangle(1800, 1300), start: [600, 120] });
    const clearance = [{ side: 'A', atLeastMm: 700, fromMm: 840, toMm: 870 }];
    const plan = await planChecked(report, wishesOf({ clearance }), stockOf([254]));
    // At the far edge the loop is 1300 − 803 mm away from side A.
    expect(plan.unmet).toMatchObject([{ wish: 'clearance A', shortByMm: expect.closeTo(700 - (1300 - 802.95), 1) }]);
  });

  it('only shifts a loop where sections cannot do what lengths of any kind promised', async () => {
    const wide = (count: number) => Array.from({ length: count }, () => ({ radius: 690, degrees: 30 }));
    const sections: Section[] = [
      ...wide(3),
      ...[101.6, 139.7, 254, 63.5, 139.7, 63.5].map(s),
      ...wide(6),
      ...[{ gap: 203.3 }, s(88.9), s(114.3), { gap: 101.5 }, s(254)],
      ...wide(3),
    ];
    const outline: [number, number][] = [
      [-762.7, -110.8],
      [714.4, -110.8],
      [714.4, 2533.7],
      [-762.7, 2533.7],
    ];
    const report = makeReport({ runs: [{ id: 'R1', closed: true, start: [0, 0], headingDeg: 0, sections }], outline });
    const keepFree = [{ name: 'tower', centre: [648, 1481], widthMm: 40, depthMm: 90, angleRad: 1.2, marginMm: 5 }];
    const straights = [101.6, 254].map((lengthMm) => ({ lengthMm, count: 1 }));
    const stock = stockOf([254, 254, 254, 254], [...straights, { lengthMm: 35, count: 3 }], 3);
    const plan = await planChecked(report, wishesOf({ prefer: 'least-change', stepMm: 0.79375, keepFree }), stock, {
      alternatives: 0,
      timeLimitMs: 4000,
    });
    // With its straights shorter the loop would lie 9 mm deeper in the zone.
    expect(plan.unmet).toMatchObject([{ wish: 'keep free tower', shortByMm: expect.closeTo(28, 0) }]);
  });

  it('puts a plan that meets all wishes before one of the kind that was asked for and breaks one', async () => {
    const bend: Section[] = [1, 2].map(() => ({ radius: 320, degrees: 45 }));
    const sections: Section[] = [
      ...[38.1, 63.5].map(s),
      ...[...bend, { gap: 127 }, ...bend],
      ...[88.9, 101.6, 63.5].map(s),
      ...[...bend, s(63.5), s(63.5), ...bend],
      ...[88.9, 63.5].map(s),
    ];
    const outline: [number, number][] = [
      [-732, -230],
      [484, -230],
      [484, 871],
      [-732, 871],
    ];
    const report = makeReport({ runs: [{ id: 'R1', closed: true, start: [0, 0], headingDeg: 0, sections }], outline });
    const wishes = wishesOf({
      prefer: 'largest-loop',
      jointAllowanceMm: 1,
      closeGaps: false,
      clearance: [
        { side: 'A', atLeastMm: 211, fromMm: 145, toMm: 631 },
        { side: 'C', atLeastMm: 67 },
      ],
      keepFree: [{ name: 'tower', centre: [101.6, 0], widthMm: 90, depthMm: 90, angleRad: 1.2 }],
    });
    const straights = [254, 127].map((lengthMm) => ({ lengthMm, count: 4 }));
    const plan = await planChecked(report, wishes, stockOf([], straights, 0), { timeLimitMs: 8000 });
    expect(plan.unmet).toEqual([]);
  });

  it('says by how much the table is too narrow when no straight can help', async () => {
    const report = ovalReport(legs(), legs(), { table: rectangle(2000, 900), start: [600, 60] });
    const sides = ['A', 'C'].map((side) => ({ side, atLeastMm: 60 }));
    const plan = await planChecked(report, wishesOf({ clearance: sides }), stockOf([254]));
    const short = 2 * (60 + 20.475 + 381) - 900;
    expect(plan.unmet.reduce((sum, u) => sum + u.shortByMm, 0)).toBeCloseTo(short, 1);
    expect(plan.unmet[0].cure).toContain(`${short.toFixed(1)} mm`);
    expect(plan.unmet[0].cure).toContain('tighter in radius');
    expect(Math.hypot(plan.predicted.closing[0].dxMm, plan.predicted.closing[0].dyMm)).toBeLessThan(0.01);
  });

  it('does not count a side for track that lies beside it, at an inside corner', async () => {
    const table: [number, number][] = [
      [0, 0],
      [2400, 0],
      [2400, 1200],
      [1200, 1200],
      [1200, 2400],
      [0, 2400],
    ];
    const report = ovalReport(legs(), legs(), { table, start: [700, 200] });
    const wishes = wishesOf({ clearance: [{ side: 'D', atLeastMm: 300 }] });
    const plan = await planChecked(report, wishes, stockOf([254]));
    expect(plan).toMatchObject({ cuts: 0, shift: { R1: [0, 0] }, unmet: [] });
    const near = wishesOf({ clearance: [{ side: 'C', atLeastMm: 230 }] });
    const moved = await planChecked(report, near, stockOf([254]));
    expect(moved.unmet).toEqual([]);
    expect(moved.predicted.clearances.find((c) => c.side === 'C')?.distance.value).toBeGreaterThanOrEqual(230);
  });

  it('uses sections that it takes out elsewhere only when that is allowed', async () => {
    const report = ovalReport([s(254), { gap: 127 }, s(254)], [s(254), s(254), s(127)]);
    const asked = { clearance: [{ side: 'B', atLeastMm: 76.2 }] };
    const no = await planChecked(report, wishesOf(asked), stockOf([254]));
    expect(no.donors.every((d) => d.donor === 'd1')).toBe(true);
    const yes = await planChecked(report, wishesOf({ ...asked, allowFreed: true }), stockOf([]));
    expect(yes.unmet).toEqual([]);
  });

  it('lists alternatives that differ in kind, each right in itself', async () => {
    const report = ovalReport([s(254), { gap: 50.8 }, s(127)], [s(254), s(127), { gap: 50.8 }]);
    const plan = await planChecked(report, wishesOf(), stockOf([254, 254, 254]), { timeLimitMs: 4000 });
    const kinds = plan.alternatives.map((a) => a.kind);
    expect(kinds).toContain('take-up');
    expect(plan.alternatives.find((a) => a.kind === 'take-up')?.cuts).toBe(0);
    expect(new Set(kinds).size).toBe(kinds.length);
    expect(kinds.length).toBeLessThanOrEqual(3);
  });

  it('makes another way that is taken the plan, and offers the way back', async () => {
    const report = ovalReport([s(254), { gap: 50.8 }, s(127)], [s(254), s(127), { gap: 50.8 }]);
    const options = { timeLimitMs: 4000 };
    const plan = await planChecked(report, wishesOf({ way: 'take-up' }), stockOf([254, 254, 254]), options);
    expect(plan).toMatchObject({ kind: 'take-up', prefer: 'fewest-cuts', cuts: 0, unmet: [] });
    expect(plan.stretches.map((x) => x.thenMm)).toEqual([381, 381]);
    expect(plan.alternatives.find((a) => a.kind === 'fewest-cuts')?.cuts).toBeGreaterThan(0);
  });

  it('does not keep to a way that leaves a wish unmet which the preference meets', async () => {
    const report = ovalReport(legs(), legs(), { table: rectangle(1400, 1200), start: [461, 200] });
    const clearance = ['B', 'D'].map((side) => ({ side, atLeastMm: 90 }));
    const plan = await planChecked(report, wishesOf({ clearance, way: 'slide-together' }), stockOf([254]));
    expect(plan).toMatchObject({ kind: 'fewest-cuts', cuts: 0, unmet: [] });
  });

  it('lays no straight from stock for one of the same length, though it closes a little better', async () => {
    const report = ovalReport(
      [s(254.2), { gap: 49.97 }, s(126.88), s(254.62)],
      [s(126.83), s(254), { gap: 51.56 }, s(254.02)],
    );
    const stock = stockOf([254], [{ lengthMm: 127, count: 1 }]);
    const plan = await planChecked(report, wishesOf({ way: 'take-up' }), stock, { timeLimitMs: 4000 });
    expect(plan.cuts).toBe(0);
    for (const { pieces, order } of plan.stretches) {
      const kept = order?.flatMap((part) => ('piece' in part ? [part.piece] : [])) ?? pieces;
      const laid = order?.flatMap((part) => ('lengthMm' in part ? [part.lengthMm] : [])) ?? [];
      const out = pieces.filter((piece) => !kept.includes(piece));
      const lengthOf = (piece: number) => (report.runs[0].pieces[piece] as { length: { value: number } }).length.value;
      for (const piece of out) expect(laid.filter((mm) => Math.abs(mm - lengthOf(piece)) < 1.5)).toEqual([]);
    }
  });
});
