import { describe, expect, it } from 'vitest';
import { calledDonor, cutListOf } from '../../../server/exports/cut-list.js';
import { stripParts } from '../../../server/exports/true-size-strips.js';
import { gapPlan, someLengths } from '../../support/bench-plans.js';

describe('cut list', () => {
  it('takes pieces, cuts and kerfs of a donor from the plan, in order from the pinned end', () => {
    const [donor] = cutListOf(gapPlan([101.6, 101.6])).donors;
    expect(donor.pieces).toEqual([
      { filler: 'F1', lengthMm: 101.6, fromMm: 0, toMm: 101.6 },
      { filler: 'F2', lengthMm: 101.6, fromMm: expect.closeTo(102.6, 6), toMm: expect.closeTo(204.2, 6) },
    ]);
    expect(donor.cuts.map((c) => [c.order, c.markMm, c.kerfMm])).toEqual([
      [1, 101.6, 1],
      [2, expect.closeTo(204.2, 6), 1],
    ]);
    expect(donor.offcutMm).toBeCloseTo(48.8, 6);
  });

  it('saws nothing off where the last piece ends at the sold end, and files what is thinner than the blade', () => {
    const whole = gapPlan([100, 100]);
    whole.donors[0].lengthMm = 201;
    expect(cutListOf(whole).donors[0]).toMatchObject({ cuts: [{ order: 1 }], offcutMm: 0, fileAwayMm: 0 });
    whole.donors[0].lengthMm = 201.6;
    const filed = cutListOf(whole).donors[0];
    expect(filed.cuts).toHaveLength(1);
    expect(filed.fileAwayMm).toBeCloseTo(0.6, 6);
  });

  it('leaves the pins in the piece with the pinned end and asks for three in every other one', () => {
    const list = cutListOf(gapPlan([60, 60, 60]));
    expect(list.fillers.map((f) => f.keepsPins)).toEqual([true, false, false]);
    expect(list.pinsToFit).toBe(6);
  });

  it('gives each filler a tie of its donor and says which ones have to borrow one', () => {
    const [donor] = cutListOf(gapPlan([45, 45, 45, 45])).donors;
    expect(donor.tiesMm).toHaveLength(3);
    donor.tiesMm.forEach((tie, i) => {
      expect(tie).toBeGreaterThan(donor.pieces[i].fromMm + 5);
      expect(tie).toBeLessThan(donor.pieces[i].toMm - 5);
    });
    expect(donor.tiesToAdd).toEqual(['F4']);
  });

  it('keeps every tie on the rails and off the cuts for all numbers of pieces', () => {
    for (const count of [1, 2, 3, 5, 12, 40]) {
      for (const donor of cutListOf(gapPlan(someLengths(count))).donors) {
        for (const tie of donor.tiesMm) {
          expect(tie).toBeGreaterThan(5);
          expect(tie).toBeLessThan(donor.lengthMm - 5);
          for (const cut of donor.cuts) expect(Math.abs(tie - cut.markMm)).toBeGreaterThan(5);
        }
      }
    }
  });

  it('finds the kerf in the marks when the plan does not name it', () => {
    const plan = gapPlan([50, 60]);
    plan.kerfMm = undefined;
    plan.donors[0].marksMm = [50, 112.4];
    expect(cutListOf(plan).kerfMm).toBeCloseTo(2.4, 6);
  });

  it('marks a length that is finer than the gap is known', () => {
    const plan = gapPlan([50.8, 76.2]);
    plan.fillers[1].gap = { value: 76, u: 0.6 };
    expect(cutListOf(plan).fillers.map((f) => f.finerThanMeasured)).toEqual([false, true]);
  });

  it('finds a reason not to cut in the lengths themselves when the plan gives none', () => {
    const plan = gapPlan([50.8, 76.2]);
    const fillers = plan.fillers.map((f, i) => ({ ...f, gap: { value: f.lengthMm + 0.3, u: i === 1 ? 1 : 0.2 } }));
    expect(cutListOf({ ...plan, fillers }).doNotCut).toEqual([
      expect.stringContaining('closes is only known to ± 2.0 mm'),
    ]);
    expect(cutListOf(plan).doNotCut).toEqual([]);
  });

  it('parts reasons not to cut from other notes', () => {
    const warnings = [
      { code: 'too-uncertain-to-cut', message: 'No.' },
      { code: 'other', message: 'By the way.' },
    ];
    const list = cutListOf(gapPlan([50], { warnings }));
    expect(list.doNotCut).toEqual(['No.']);
    expect(list.notes).toEqual(['By the way.']);
  });
});

describe('parts of a strip', () => {
  it('cover the donor without gap or overlap, fit the page, and keep marks off the joints', () => {
    const [donor] = cutListOf(gapPlan([100, 145, 120, 250], { donorMm: 900 })).donors;
    const parts = stripParts(donor, 255);
    expect(parts[0].fromMm).toBe(0);
    expect(parts.at(-1)?.toMm).toBe(900);
    parts.forEach((part, i) => {
      expect(part.toMm - part.fromMm).toBeLessThanOrEqual(255);
      if (i > 0) expect(part.fromMm).toBe(parts[i - 1].toMm);
      if (i > 0) for (const cut of donor.cuts) expect(Math.abs(cut.markMm - part.fromMm)).toBeGreaterThanOrEqual(6);
    });
  });

  it('is one part where the donor fits', () => {
    const [donor] = cutListOf(gapPlan([100])).donors;
    expect(stripParts(donor, 254)).toHaveLength(1);
  });
});

describe('what a donor is called', () => {
  it('says once that it is one', () => {
    expect(calledDonor('d1')).toBe('Donor d1');
    expect(calledDonor('Donor 2')).toBe('Donor 2');
    expect(calledDonor('donors, spare')).toBe('Donor donors, spare');
  });
});
