import { describe, expect, it } from 'vitest';
import { fillerSum, sumInWords, sumNames, toldBy } from '../../../server/contract/filler-sum.js';
import { ruledGap } from '../../../server/contract/gap-readings.js';
import type { Plan } from '../../../server/contract/plan.js';
import type { Report } from '../../../server/contract/report.js';

type Order = NonNullable<Plan['stretches'][number]['order']>;

const mm = { unit: 'mm', denominator: 16 } as const;
const joint = (id: string, pieces: [number, number], value: number, open = true) => ({
  id,
  run: 'R1',
  open,
  pieces,
  gap: { value, u: 0.3 },
});

/** Four straights between two curves: gaps of 35.2, 55.5 and 23.8 mm, the last before the curve. */
const report = {
  runs: [
    {
      id: 'R1',
      pieces: [
        ...[254, 254, 126.8, 254].map((value) => ({ kind: 'straight', length: { value, u: 0.3 } })),
        { kind: 'curve' },
      ],
    },
  ],
  joints: [
    joint('a', [0, 1], 35.2),
    joint('b', [1, 2], 55.5),
    joint('c', [2, 3], 0.4, false),
    joint('d', [3, 4], 23.8),
  ],
} as unknown as Report;

interface On {
  readonly joint?: string;
  readonly id?: string;
  readonly byRule?: Plan['byRule'];
}

function sumOf(order: Order, gapMm: number | null, on: On = {}) {
  const id = on.id ?? 'F1';
  const made = order.flatMap((part) => ('filler' in part ? [part] : []));
  const stretch = { run: 'R1', pieces: [0, 1, 2, 3], headingRad: 0, nowMm: 0, thenMm: 0, made, order };
  const gap = gapMm === null ? null : { value: gapMm, u: 0.35 };
  const filler = { id, lengthMm: 79, label: '', run: 'R1', joint: on.joint ?? 'b', gap };
  return fillerSum({ stretches: [stretch], byRule: on.byRule }, filler, report);
}

describe('what a filler takes the place of', () => {
  it('is every gap that it closes, where sections slide together', () => {
    const order: Order = [{ piece: 0 }, { piece: 1 }, { filler: 'F1' }, { piece: 2 }, { piece: 3 }];
    const sum = sumOf(order, 114.5);
    expect(sumNames(sum)).toBe('Gap 1 + Gap 2 + Gap 3');
    expect(sumInWords(sum, mm)).toBe('35.2 mm + 55.5 mm + 23.8 mm = 114.5 ± 0.7 mm');
  });

  it('is a gap and the straight that comes out, where there is another filler beside it', () => {
    const order: Order = [{ piece: 0 }, { filler: 'F1' }, { piece: 1 }, { filler: 'F2' }, { piece: 3 }];
    const sum = sumOf(order, 182.3, { id: 'F2' });
    expect(sumNames(sum)).toBe('Gap 2 + Straight 3 taken out');
    expect(sumInWords(sum, mm)).toBe('55.5 mm + 126.8 mm = 182.3 ± 0.7 mm');
    expect(sumInWords(sumOf(order, 35.2, { joint: 'a' }), mm)).toBe('35.2 ± 0.7 mm');
  });

  it('names the run of a straight that comes out, where another run has one of that name', () => {
    const order: Order = [{ piece: 0 }, { filler: 'F1' }, { piece: 1 }, { filler: 'F2' }, { piece: 3 }];
    const two = { ...report, runs: [...report.runs, { id: 'R2', pieces: report.runs[0].pieces }] } as Report;
    const made = [{ filler: 'F1' }, { filler: 'F2' }];
    const stretch = { run: 'R1', pieces: [0, 1, 2, 3], headingRad: 0, nowMm: 0, thenMm: 0, made, order };
    const filler = { id: 'F2', lengthMm: 79, label: '', run: 'R1', joint: 'b', gap: { value: 182.3, u: 0.35 } };
    expect(sumNames(fillerSum({ stretches: [stretch] }, filler, two))).toBe('Gap 2 + Straight 3 of R1 taken out');
  });

  it('has no sum where the filler fills a share of the place only', () => {
    const order: Order = [{ piece: 0 }, { filler: 'F1' }, { lengthMm: 127, source: 'stock' }, { piece: 3 }];
    const sum = sumOf(order, null);
    expect(sumNames(sum)).toBe('Gap 1 + Straight 2 taken out + Gap 2 + Straight 3 taken out');
    expect(sumInWords(sum, mm)).not.toContain('=');
  });

  it('never passes a sum off as one gap: what does not add up is the gap alone, as measured', () => {
    const order: Order = [{ piece: 0 }, { piece: 1 }, { filler: 'F1' }, { piece: 2 }, { piece: 3 }];
    const sum = sumOf(order, 90);
    expect(sumNames(sum)).toBe('Gap 2');
    expect(sumInWords(sum, mm)).toBe('55.5 ± 0.6 mm');
  });

  const ruled = (joint: string, mm: number, photoMm: number) =>
    ruledGap(joint, { value: mm, u: 0.3 }, { value: photoMm, u: 0.3 });

  it('counts a gap that was read with a rule as the rule says where the photo contradicts it, and names it so', () => {
    const together: Order = [{ piece: 0 }, { piece: 1 }, { filler: 'F1' }, { piece: 2 }, { piece: 3 }];
    const byRule = [ruled('b', 58.5, 55.5), ruled('d', 22, 23.8)];
    const sum = sumOf(together, 115.7, { byRule });
    expect(sumInWords(sum, mm)).toBe('35.2 mm + 58.5 mm by the rule + 22.0 mm by the rule = 115.7 ± 0.7 mm');
    // By the photo it would not add up.
    expect(sumOf(together, 115.7).parts).toHaveLength(1);
    const alone: Order = [{ piece: 0 }, { piece: 1 }, { filler: 'F1' }, { piece: 2 }, { filler: 'F2' }, { piece: 3 }];
    const read = sumOf(alone, 57.94375, { byRule: [ruled('b', 57.94375, 55.5)] });
    expect(read.parts).toMatchObject([{ name: 'Gap 2', toldBy: 'rule', length: { value: 57.94375, u: 0.3 } }]);
    // As fine as it was read, though lengths are told to the sixteenth.
    expect(sumInWords(read, { unit: 'in', denominator: 16 })).toBe('2 9/32 in ± 0.03 in');
  });

  it('counts rule and photo together where they agree, and names the gap as checked', () => {
    const together: Order = [{ piece: 0 }, { piece: 1 }, { filler: 'F1' }, { piece: 2 }, { piece: 3 }];
    const byRule = [ruled('b', 56.1, 55.5), ruled('d', 22, 23.8)];
    const sum = sumOf(together, 113, { byRule });
    expect(sumInWords(sum, mm)).toBe('35.2 mm + 55.8 mm checked with the rule + 22.0 mm by the rule = 113.0 ± 0.7 mm');
    const filler = { id: 'F1', lengthMm: 79, label: '', run: 'R1', joint: 'b', gap: sum.total };
    expect(toldBy({ stretches: [], byRule }, filler, sum)).toBe('photo and rule');
    const alone: Order = [{ piece: 0 }, { piece: 1 }, { filler: 'F1' }, { piece: 2 }, { filler: 'F2' }, { piece: 3 }];
    const checked = sumOf(alone, 55.8, { byRule });
    expect(checked.parts).toMatchObject([
      { name: 'Gap 2', toldBy: 'photo and rule', length: { value: expect.closeTo(55.8, 9) } },
    ]);
    // Finely, though lengths are told to the sixteenth: 2 3/16 in lies a quarter of a millimetre off.
    expect(sumInWords(checked, { unit: 'in', denominator: 16 })).toMatch(/^2 13\/64 in ±/);
    // The plan alone tells it too, of the gap that it has for the filler.
    const gapOf = (value: number) => ({ ...filler, gap: { value, u: 0.2 } });
    const none = { parts: [], total: null };
    expect(toldBy({ stretches: [], byRule }, gapOf(55.8), none)).toBe('photo and rule');
    expect(toldBy({ stretches: [], byRule }, { ...gapOf(22), joint: 'd' }, none)).toBe('rule');
    expect(toldBy({ stretches: [], byRule }, gapOf(90), none)).toBe('photo');
  });

  it('says nothing of what plan and report do not tell', () => {
    expect(fillerSum({ stretches: [] }, { id: 'F1', lengthMm: 50, label: '', run: 'R1' }, report)).toEqual({
      parts: [],
      total: null,
    });
  });
});
