import { describe, expect, it } from 'vitest';
import { planSchema } from '../../../server/contract/plan.js';
import { planFillers } from '../../../server/planner/plan-fillers.js';
import { makeReport, rectangle } from '../../support/make-report.js';
import { ovalReport, planChecked, stockOf, wishesOf } from './plan-scene.js';

const s = (straight: number) => ({ straight });
const gap = (mm: number) => ({ gap: mm });

describe('closing what is open', () => {
  it('fills each of two opposite gaps with one filler of its length, from one donor', async () => {
    const report = ovalReport([s(254), gap(50.8), s(127)], [s(254), s(127), gap(50.8)]);
    const plan = await planChecked(report, wishesOf(), stockOf([254, 254]));
    expect(plan.fillers.map((f) => f.lengthMm)).toEqual([50.8, 50.8]);
    expect(plan.fillers.map((f) => f.label)).toEqual(['2 in', '2 in']);
    expect(plan.fillers.map((f) => f.joint)).toEqual(['R1-J1', 'R1-J8']);
    expect(plan.donors).toHaveLength(1);
    expect(plan.donors[0].marksMm).toEqual([50.8, 102.6]);
    expect(plan.donors[0].offcutMm).toBeCloseTo(254 - 102.6 - 1, 6);
    expect(plan.shift).toEqual({ R1: [0, 0] });
    expect(plan.unmet).toEqual([]);
    expect(planSchema.safeParse(plan).success).toBe(true);
  });

  it('puts one piece into each gap of a straight when each is long enough for a filler', async () => {
    const report = ovalReport([s(254), gap(50.8), s(127), gap(76.2)], [s(254), s(127), s(127)]);
    const plan = await planChecked(report, wishesOf(), stockOf([254]));
    expect(plan.fillers.map((f) => f.lengthMm)).toEqual([50.8, 76.2]);
  });

  it('offers to slide sections together so that one filler takes the place of two', async () => {
    const report = ovalReport([s(254), gap(50.8), s(127), gap(76.2)], [s(254), s(127), s(127)]);
    const plan = await planChecked(report, wishesOf(), stockOf([240]), { timeLimitMs: 4000 });
    const slid = plan.alternatives.find((a) => a.kind === 'slide-together');
    expect(slid?.fillers.map((f) => f.lengthMm)).toEqual([127]);
  });

  it('makes one gap of several where one of them is too short for a filler', async () => {
    const report = ovalReport([s(254), gap(12), s(127), gap(76.2)], [s(254), s(127), s(88.2)]);
    const plan = await planChecked(report, wishesOf(), stockOf([254]));
    expect(plan.fillers).toHaveLength(1);
    expect(Math.abs(plan.fillers[0].lengthMm - 88.2)).toBeLessThanOrEqual(1.5875 / 2);
    expect(plan.warnings.map((w) => w.code)).toContain('slide-sections');
  });

  it('takes out the section beside a gap that is too short, and cuts a longer one', async () => {
    const report = ovalReport([s(254), gap(19.05), s(127)], [s(254), s(146.05)]);
    const plan = await planChecked(report, wishesOf(), stockOf([254]));
    expect(plan.fillers.map((f) => f.lengthMm)).toEqual([146.05]);
    expect(plan.stretches[0].made).toContainEqual({ lengthMm: 254, count: 1, source: 'layout' });
  });

  it('fills a gap longer than any donor with stock sections and a filler', async () => {
    const report = ovalReport([s(127), gap(355.6)], [s(254), s(228.6)]);
    const plan = await planChecked(report, wishesOf(), stockOf([222], [{ lengthMm: 254, count: 1 }]));
    expect(plan.fillers.map((f) => f.lengthMm)).toEqual([101.6]);
    expect(plan.stretches[0].made).toContainEqual({ lengthMm: 254, count: 1, source: 'stock' });
  });

  it('uses a spare straight of the right length rather than cutting', async () => {
    const report = ovalReport([s(254), gap(127)], [s(254), s(127)]);
    const plan = await planChecked(report, wishesOf(), stockOf([254], [{ lengthMm: 127, count: 1 }]));
    expect(plan.fillers).toEqual([]);
    expect(plan.cuts).toBe(0);
  });

  it('counts a whole donor used as it is as no cut', async () => {
    const report = ovalReport([s(254), gap(254)], [s(254), s(254)]);
    const plan = await planChecked(report, wishesOf(), stockOf([254]));
    expect(plan.cuts).toBe(0);
    expect(plan.donors).toMatchObject([{ donor: 'd1', marksMm: [254], offcutMm: 0 }]);
  });

  it('fills a gap between two curves', async () => {
    const report = ovalReport([gap(76.2)], [s(76.2)]);
    const plan = await planChecked(report, wishesOf(), stockOf([254]));
    expect(plan.fillers.map((f) => f.lengthMm)).toEqual([76.2]);
    expect(plan.stretches.find((x) => x.pieces.length === 0)?.thenMm).toBeCloseTo(76.2, 6);
  });

  it('leaves gaps open when that is allowed and no wish is broken', async () => {
    const report = ovalReport([s(254), gap(50.8), s(127)], [s(254), s(177.8)]);
    const plan = await planChecked(report, wishesOf({ closeGaps: false }), stockOf([]));
    expect(plan.fillers).toEqual([]);
    expect(plan.unmet).toEqual([]);
  });

  it('keeps an open run between its ends', async () => {
    const layout = {
      runs: [
        {
          id: 'R1',
          closed: false,
          start: [200, 300] as const,
          headingDeg: 17,
          sections: [s(254), gap(60), s(127), { radius: 381, degrees: 45 }, s(127), gap(45), s(254)],
        },
      ],
      outline: rectangle(2000, 1200),
    };
    const plan = await planChecked(makeReport(layout), wishesOf(), stockOf([254]));
    expect(plan.fillers.map((f) => f.lengthMm)).toEqual([60.325, 44.45]);
    expect(Math.hypot(plan.predicted.ends?.[0].dxMm ?? 9, plan.predicted.ends?.[0].dyMm ?? 9)).toBeLessThan(1.5);
  });

  it('makes the fillers equal where joints with play make opposite gaps look unequal', async () => {
    const report = ovalReport([s(254), gap(50.8), s(127)], [s(254), s(127), gap(50.8)]);
    for (const [i, joint] of report.joints.filter((j) => j.open).entries()) joint.gap.value += i === 0 ? -0.69 : 0.69;
    const plan = await planChecked(report, wishesOf({ stepMm: 0.79375 }), stockOf([254]));
    expect(plan.fillers.map((f) => f.lengthMm)).toEqual([50.8, 50.8]);
  });

  it('counts the allowance of every joint that a filler makes', async () => {
    const report = ovalReport([s(254), gap(50.8), s(127)], [s(254), s(177.8)]);
    const plan = await planChecked(report, wishesOf({ jointAllowanceMm: 0.8 }), stockOf([254]));
    const stretch = plan.stretches.find((x) => x.made.some((m) => 'filler' in m));
    expect(stretch?.joints).toBe(2);
    expect(stretch?.thenMm).toBeCloseTo(254 + 127 + plan.fillers[0].lengthMm + 2 * 0.8, 4);
    expect(plan.fillers[0].lengthMm).toBe(49.2125);
  });
});

describe('when something is lacking', () => {
  it('says so when there is nothing to cut from', async () => {
    const report = ovalReport([s(254), gap(50.8)], [s(254), s(50.8)]);
    const planned = await planFillers(report, wishesOf(), stockOf([]));
    expect(planned).toMatchObject({ ok: false, problem: { code: 'no-donors' } });
  });

  it('leaves short straights to the gap that needs fewer of them', async () => {
    const report = ovalReport([s(254), { gap: 105 }, s(127)], [s(254), { gap: 70 }, s(162)]);
    const plan = await planChecked(report, wishesOf(), stockOf([150], [{ lengthMm: 35, count: 3 }]));
    // Three of them in the wider gap would leave a filler and one changed section more for the other.
    expect(plan).toMatchObject({ cuts: 1, changedSections: 3, unmet: [], fillers: [{ lengthMm: 104.775 }] });
  });

  it('says how sections lie where the play of their joints takes up an open gap', async () => {
    const sections = [s(254), s(127), { gap: 4 }, s(127)];
    const report = ovalReport(sections, sections);
    const plan = await planChecked(report, wishesOf({ jointAllowanceMm: 2 }), stockOf([254]));
    expect(plan).toMatchObject({ cuts: 0, changedSections: 0, unmet: [] });
    expect(plan.stretches).toMatchObject([
      { nowMm: 512, thenMm: 512, joints: 2 },
      { nowMm: 512, thenMm: 512, joints: 2 },
    ]);
  });

  it('lays one donor whole rather than two straights, neither of which is cut', async () => {
    const report = ovalReport([s(254), { gap: 254 }], [s(254), s(254)]);
    const stock = stockOf([254], [{ lengthMm: 127, count: 2 }]);
    const plan = await planChecked(report, wishesOf(), stock);
    expect(plan).toMatchObject({ cuts: 0, changedSections: 1, fillers: [{ lengthMm: 254, cut: false }] });
  });

  it('closes gaps on a table of which no photo shows an edge', async () => {
    const measured = ovalReport([s(254), { gap: 50.8 }, s(254)], [s(254), { gap: 50.8 }, s(254)]);
    const report = { ...measured, table: { outline: [], sides: [] } };
    const plan = await planChecked(report, wishesOf(), stockOf([254]));
    expect(plan).toMatchObject({ cuts: 2, unmet: [], predicted: { clearances: [] } });
  });

  it('says which gap stays open, by how much, and that one more donor would cure it', async () => {
    const report = ovalReport([s(254), gap(101.6), s(254)], [s(254), s(254), s(101.6)]);
    const wishes = wishesOf({ stay: [{ run: 'R1', pieces: [0, 1, 6, 7, 8] }] });
    const plan = await planChecked(report, wishes, stockOf([60]));
    expect(plan.unmet).toHaveLength(1);
    expect(plan.unmet[0]).toMatchObject({ wish: 'close Gap 1 (R1-J1)', shortByMm: 101.6 });
    expect(plan.unmet[0].cure).toContain('One more donor of at least 102.6 mm');
  });

  it('says that a finer step would close a loop that a coarse one does not', async () => {
    const report = ovalReport([s(254), gap(53)], [s(254), s(53)]);
    const stay = [{ run: 'R1', pieces: [0, 1, 2, 3, 4, 5, 6, 7, 8, 9] }];
    const plan = await planChecked(report, wishesOf({ stepMm: 10, shortestFillerMm: 40, stay }), stockOf([254]));
    expect(plan.unmet.length).toBeGreaterThan(0);
    expect(plan.unmet[0].cure).toContain('A step of 2.5 mm');
  });

  it('leaves no gap open for want of time', async () => {
    const report = ovalReport([s(254), gap(50.8), s(127)], [s(254), s(127), gap(50.8)]);
    const wishes = wishesOf({ clearance: [{ side: 'A', atLeastMm: 250 }] });
    const plan = await planChecked(report, wishes, stockOf([254]), { alternatives: 0, timeLimitMs: 1 });
    expect(plan.unmet.filter((u) => u.wish.startsWith('close Gap'))).toEqual([]);
    expect(plan.stretches.length).toBeGreaterThan(0);
  });

  it('says that a bent gap is not closed, and leaves it alone', async () => {
    const report = ovalReport([s(254), gap(50.8), s(127)], [s(254), s(177.8)]);
    const piece = report.runs[0].pieces[1];
    if (piece.kind === 'straight') {
      piece.headingRad = 0.4;
      piece.to = [piece.from[0] + 127 * Math.cos(0.4), piece.from[1] + 127 * Math.sin(0.4)];
    }
    const planned = await planFillers(report, wishesOf(), stockOf([254]));
    if (!planned.ok) throw new Error('there is a plan');
    expect(planned.value.fillers).toEqual([]);
    expect(planned.value.unmet).toMatchObject([{ wish: 'close Gap 1 (R1-J1)', shortByMm: 50.8 }]);
    expect(planned.value.warnings.map((w) => w.code)).toContain('bent-gap');
  });

  it('takes out a section of which an end was not seen only where nothing else helps, and then asks to measure it', async () => {
    const report = ovalReport([s(127), gap(19.05), s(127)], [s(127), s(146.05)]);
    const far = report.joints.find((j) => j.pieces?.[0] === 1);
    const near = report.joints.find((j) => j.pieces?.[1] === 0);
    report.joints = report.joints.filter((j) => j !== far);
    const plan = await planChecked(report, wishesOf(), stockOf([254]));
    expect(plan.fillers.map((f) => f.lengthMm)).toEqual([146.05]);
    expect(plan.stretches[0].order).toEqual([{ filler: 'F1' }, { piece: 1 }]);
    expect(plan.warnings.map((w) => w.code)).not.toContain('check-section');
    report.joints = report.joints.filter((j) => j !== near);
    const unsure = await planChecked(report, wishesOf(), stockOf([254]));
    expect(unsure.fillers.map((f) => f.lengthMm)).toEqual([146.05]);
    expect(unsure.warnings.map((w) => w.code)).toContain('check-section');
  });

  it('is stopped by its signal', async () => {
    const report = ovalReport([s(254), gap(50.8)], [s(254), s(50.8)]);
    const controller = new AbortController();
    controller.abort();
    await expect(planFillers(report, wishesOf(), stockOf([254]), { signal: controller.signal })).rejects.toMatchObject({
      name: 'AbortError',
    });
  });

  it('has nothing to plan where no run was measured', async () => {
    const report = makeReport({ runs: [], outline: rectangle(1000, 500) });
    expect(await planFillers(report, wishesOf(), stockOf([254]))).toMatchObject({
      ok: false,
      problem: { code: 'nothing-measured' },
    });
  });
});

describe('what the plan tells about its own accuracy', () => {
  it('warns before cutting from a gap that is not known to a step, and names the photo to take again', async () => {
    const report = ovalReport([s(254), gap(50.8)], [s(254), s(50.8)]);
    const joint = report.joints.find((j) => j.open);
    if (joint) {
      joint.gap.u = 1.2;
      joint.seen = [{ photo: 'far.jpg', px: [10, 10] }];
    }
    const plan = await planChecked(report, wishesOf(), stockOf([254]));
    const warning = plan.warnings.find((w) => w.code === 'too-uncertain-to-cut');
    expect(warning?.message).toContain('far.jpg');
    expect(plan.predicted.closing[0].uMm).toBeGreaterThan(1.2);
  });

  it('says what one step too long does to the closing and to the clearances', async () => {
    const report = ovalReport([s(254), gap(50.8)], [s(254), s(50.8)]);
    const plan = await planChecked(report, wishesOf(), stockOf([254]));
    const longer = plan.fillers[0].oneStepLonger;
    expect(longer?.closingMm).toBeCloseTo(1.5875, 3);
    expect(longer?.clearances).toContainEqual({ side: 'B', changeMm: -1.5875 });
    expect(longer?.clearances.map((c) => c.side)).not.toContain('A');
    const shorter = plan.fillers[0].oneStepShorter;
    expect(shorter?.closingMm).toBeCloseTo(1.5875, 3);
    expect(shorter?.clearances).toContainEqual({ side: 'B', changeMm: 1.5875 });
  });

  it('reports the kink per joint of curves that turn too little', async () => {
    const report = ovalReport([s(254), gap(50.8)], [s(254), s(50.8)]);
    for (const piece of report.runs[0].pieces) if (piece.kind === 'curve') piece.sweepRad *= 0.98;
    const plan = await planChecked(report, wishesOf(), stockOf([254]));
    const closing = plan.predicted.closing[0];
    expect(closing.misclosureRad).toBeCloseTo(2 * Math.PI * 0.02, 6);
    expect(closing.kinkRad).toBeCloseTo((2 * Math.PI * 0.02) / 11, 6);
    expect(plan.warnings.map((w) => w.code)).toContain('heading-misclosure');
  });

  it('says where a clearance is met by less than it is known to', async () => {
    const report = ovalReport([s(254)], [s(254)]);
    const at: [number, number] = [700, 180];
    report.clearances = [{ side: 'A', run: 'R1', distance: { value: 179.5, u: 2 }, at, seen: [] }];
    const barely = async (atLeastMm: number) => {
      const wishes = wishesOf({ clearance: [{ side: 'A', atLeastMm }] });
      return (await planChecked(report, wishes, stockOf([254]))).warnings.filter((w) => w.code === 'barely-met');
    };
    expect(await barely(178)).toEqual([
      expect.objectContaining({ message: expect.stringMatching(/side A is met by 1\.5 mm \(0\.06 in\).*± 3\.9 mm/) }),
    ]);
    expect(await barely(170)).toEqual([]);
  });
});
