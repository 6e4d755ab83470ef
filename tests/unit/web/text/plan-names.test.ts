import { describe, expect, it } from 'vitest';
import { unbroken } from '../../../../server/units/unbroken.js';
import { fitsWithoutFillers, lengthChanges, planName, uncutText } from '../../../../web/text/plan-names.js';
import { otherWayTexts } from '../../../../web/text/preferences.js';
import { gapPlan } from '../../../support/bench-plans.js';

const style = { unit: 'in', denominator: 16 } as const;
const base = { ...gapPlan([50.8]), shift: { R1: [0, 0] as [number, number] } };
const [stretch] = base.stretches;
const filled = { ...base, stretches: [{ ...stretch, pieces: [0, 1], nowMm: 800, thenMm: 800.6, order: undefined }] };
/** One straight of three comes out, and the ends meet. */
const shorter = {
  ...base,
  fillers: [],
  donors: [],
  cuts: 0,
  stretches: [{ ...stretch, pieces: [0, 1, 2], nowMm: 800, thenMm: 495.2, order: [{ piece: 0 }, { piece: 2 }] }],
};

describe('what a plan is called', () => {
  it('goes by what is done to the track, whatever was wished for', () => {
    expect(planName(filled, [])).toBe('Fill the gaps, all else stays');
    expect(planName({ ...filled, shift: { R1: [0.4, 0] } }, [])).toBe('Fill the gaps, all else stays');
    expect(planName({ ...filled, shift: { R1: [0, -12.7] } }, [])).toBe('Slide the whole track, fill the gaps');
    expect(planName({ ...filled, shift: { R1: [9, 0], R2: [0, 0] } }, [])).toBe('Slide R1, fill the gaps');
    expect(planName({ ...filled, fillers: [], shift: { R1: [9, 0] } }, [])).toBe('Slide the whole track');
    expect(planName({ ...filled, fillers: [] }, [])).toBe('Leave all as it lies');
    expect(planName(shorter, [])).toBe('Lay straights anew');
    const exchanged = { ...shorter, stretches: [{ ...shorter.stretches[0], thenMm: 799.5 }] };
    expect(planName(exchanged, [])).toBe('Exchange straights, all else stays');
    expect(planName({ ...shorter, shift: { R1: [9, 0] } }, [])).toBe('Slide the whole track, lay straights anew');
  });

  it('is the way that was taken, and a loop is no larger than was proved', () => {
    expect(planName({ ...shorter, kind: 'take-up' }, [])).toBe(otherWayTexts['take-up']);
    const largest = { ...shorter, kind: 'largest-loop' };
    const search = (proved: boolean) => ({ proved, open: [] });
    expect(planName({ ...largest, search: search(true) }, [])).toMatch(/largest loop that fits$/);
    expect(planName({ ...largest, search: search(false) }, [])).toMatch(/largest loop that was found$/);
  });

  it('tells apart two plans that do the same', () => {
    const [few, many] = [
      { ...shorter, cuts: 1, changedSections: 4 },
      { ...shorter, cuts: 2, changedSections: 2 },
    ];
    expect(planName(few, [few, many])).toBe('Lay straights anew: 1 cut');
    expect(planName(many, [few, many])).toBe('Lay straights anew: 2 cuts');
    const fewer = { ...few, changedSections: 1 };
    expect(planName(fewer, [few, fewer])).toBe('Lay straights anew: 1 section changed');
  });

  it('comes with how much longer or shorter each run gets, and with what comes out', () => {
    expect(lengthChanges(filled, style)).toEqual([]);
    expect(lengthChanges(shorter, style)).toEqual([{ run: stretch.run, text: `${unbroken('12 in')} shorter` }]);
    expect(uncutText(shorter)).toMatch(/^Nothing to cut: 1 straight comes out, /);
    expect(fitsWithoutFillers(shorter)).toMatch(/^Straights laid anew/);
    const order = [0, 1, 2].map((piece) => ({ piece }));
    const closed = { ...shorter, stretches: [{ ...shorter.stretches[0], thenMm: 784, order }] };
    expect(uncutText(closed)).toMatch(/^Nothing to cut: every piece stays, /);
    expect(fitsWithoutFillers(closed)).toMatch(/^Every piece stays/);
    expect(fitsWithoutFillers(filled)).toBe('');
    expect(uncutText({ ...filled, fillers: [] })).toBe('Nothing to cut: slide the track as drawn.');
  });
});
