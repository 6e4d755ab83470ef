import { describe, expect, test } from 'vitest';
import type { PlanWithoutAlternatives } from '../../../../server/contract/plan.js';
import type { Report } from '../../../../server/contract/report.js';
import { unbroken } from '../../../../server/units/unbroken.js';
import { laidAnewWords } from '../../../../web/text/laid-anew-words.js';

const style = { unit: 'mm', denominator: 16 } as const;
const filler = { id: 'F1', lengthMm: 41, label: '41 mm', run: 'R1' };

const corners = [
  [0, 0],
  [1800, 0],
  [1800, 900],
  [0, 900],
];

const report = {
  table: { sides: corners.map((from, i) => ({ name: 'ABCD'[i], from, to: corners[(i + 1) % 4] })) },
  runs: [
    {
      id: 'R1',
      pieces: [254, 254, 254, 127, 254].map((value) => ({
        kind: 'straight',
        from: [0, 0],
        to: [value, 0],
        length: { value, u: 0.3 },
      })),
    },
  ],
} as unknown as Report;

/** A plan of one stretch of three straights. */
function planOf(stretch: Partial<PlanWithoutAlternatives['stretches'][number]>): PlanWithoutAlternatives {
  return {
    format: 'gapwright-plan/1',
    stretches: [{ run: 'R1', pieces: [2, 3, 4], headingRad: 0, nowMm: 650, thenMm: 500, made: [], ...stretch }],
    fillers: [filler],
    donors: [],
    shift: {},
    predicted: { clearances: [], closing: [] },
    unmet: [],
    warnings: [],
  };
}

describe('straights to lay anew', () => {
  test('the order is told with the end that it begins at, where the table shows it', () => {
    const placed = {
      ...report,
      runs: [{ ...report.runs[0], pieces: report.runs[0].pieces.map((p) => ({ ...p, from: [1210, 850] })) }],
    } as Report;
    const stretch = planOf({ order: [{ piece: 2 }, { piece: 4 }] });
    expect(laidAnewWords(stretch, placed, style)[0].begins).toBe('by side C, 59 cm from corner B/C');
    const bare = { ...placed, table: { ...report.table, sides: [] } };
    expect(laidAnewWords(stretch, bare, style)[0].begins).toBe('');
  });

  test('what is not in the new order is to be taken out, by the name that it has in the measured list', () => {
    const [laid] = laidAnewWords(planOf({ order: [{ piece: 2 }, { filler: 'F1' }, { piece: 4 }] }), report, style);
    expect(laid.title).toMatch(/^Straight 3, Straight 4, Straight 5 of R1: .*650.* now, .*500.* then$/);
    expect(laid.takenOut).toBe(unbroken('Straight 4 (127.0 mm)'));
    expect(laid.toShow).toEqual([{ thing: 'piece:R1:3', name: 'Straight 4 of R1' }]);
    expect(laid.lies).toMatch(/^Straight 3, F1 \(.*41.*\), Straight 5$/);
  });

  test('a section from the stock says so, and one from another straight too', () => {
    const order = [
      { lengthMm: 254, source: 'stock' },
      { lengthMm: 127, source: 'layout' },
    ] as const;
    const [laid] = laidAnewWords(planOf({ order: [...order] }), report, style);
    expect(laid.takenOut).toMatch(/^Straight 3 .*, Straight 4 .*, Straight 5 /);
    expect(laid.lies).toMatch(/254.* from what is at hand, .*127.* from another straight$/);
  });

  test('where a gap is only filled, nothing is laid anew', () => {
    const order = [{ piece: 2 }, { piece: 3 }, { filler: 'F1' }, { piece: 4 }];
    expect(laidAnewWords(planOf({ thenMm: 649, order }), report, style)).toEqual([]);
  });

  test('a filler that takes the place of a section is told, though the stretch keeps its length', () => {
    const order = [{ piece: 2 }, { filler: 'F1' }, { piece: 4 }];
    const [laid] = laidAnewWords(planOf({ thenMm: 650, order }), report, style);
    expect(laid.takenOut).toBe(unbroken('Straight 4 (127.0 mm)'));
  });

  test('the same pieces in less room only slide together', () => {
    const slides = (order: { piece: number }[]) => laidAnewWords(planOf({ order }), report, style)[0].slides;
    expect(slides([{ piece: 2 }, { piece: 3 }, { piece: 4 }])).toBe(true);
    expect(slides([{ piece: 2 }, { piece: 4 }])).toBe(false);
  });

  test('a plan without an order says what it is made of', () => {
    const made = [{ lengthMm: 250, count: 2, source: 'layout' as const }];
    const [laid] = laidAnewWords(planOf({ made }), report, style);
    expect(laid.takenOut).toBe('');
    expect(laid.lies).toMatch(/^2 × .*250/);
  });
});
