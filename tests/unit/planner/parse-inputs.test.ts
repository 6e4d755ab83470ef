import { describe, expect, it } from 'vitest';
import { problemLine } from '../../../server/contract/problems.js';
import { parseReport, parseStock, parseWishes } from '../../../server/planner/parse-inputs.js';
import { ovalReport } from './plan-scene.js';

const report = ovalReport([{ straight: 254 }], [{ straight: 254 }]);
const wishes = (more: Record<string, unknown>) => parseWishes({ format: 'gapwright-wishes/1', ...more }, report);
const stock = (more: Record<string, unknown>) => parseStock({ format: 'gapwright-stock/1', ...more });
const zone = { name: 'tower', centre: [1000, 600], widthMm: 90, depthMm: 90 };

describe('bad wishes name the field', () => {
  const cases: [string, Record<string, unknown>, string, RegExp][] = [
    ['a negative clearance', { clearance: [{ side: 'A', atLeastMm: -3 }] }, 'clearance[0].atLeastMm', /negative/],
    ['a side that is not there', { clearance: [{ side: 'Q', atLeastMm: 3 }] }, 'clearance[0].side', /A, B, C, D/],
    ['text for a number', { stepMm: 'fine' }, 'stepMm', /a number is needed, not the text “fine”/],
    ['a step of nought', { stepMm: 0 }, 'stepMm', /greater than 0/],
    ['a step finer than any saw', { stepMm: 1e-6 }, 'stepMm', /finer than 0.05 mm/],
    ['a step longer than the shortest filler', { stepMm: 50 }, 'stepMm', /shortest filler/],
    ['a closing that nothing meets', { closingMm: 1e-4 }, 'closingMm', /finer than 0.05 mm/],
    ['a preference that does not exist', { prefer: 'cheapest' }, 'prefer', /fewest-cuts/],
    [
      'a range that ends before it begins',
      { clearance: [{ side: 'A', atLeastMm: 3, fromMm: 500, toMm: 400 }] },
      'clearance[0].toMm',
      /greater than fromMm/,
    ],
    [
      'a range beyond the side',
      { clearance: [{ side: 'B', atLeastMm: 3, fromMm: 5000 }] },
      'clearance[0].fromMm',
      /only 1200 mm \(47 1\/4 in\) long/,
    ],
    [
      'a zone beside the table',
      { keepFree: [{ ...zone, centre: [-500, 100] }] },
      'keepFree[0].centre',
      /not on the table/,
    ],
    [
      'a zone wider than the table',
      { keepFree: [{ ...zone, widthMm: 9000 }] },
      'keepFree[0].widthMm',
      /wider than the table/,
    ],
    ['a zone of no width', { keepFree: [{ ...zone, widthMm: 0 }] }, 'keepFree[0].widthMm', /greater than 0/],
    [
      'a zone on a piece that is to stay',
      { keepFree: [{ ...zone, centre: [700, 200] }], stay: [{ run: 'R1', pieces: [0] }] },
      'keepFree[0]',
      /piece 0 of R1/,
    ],
    ['a spacing to an unknown run', { spacing: [{ runs: ['R1', 'R9'], atLeastMm: 100 }] }, 'spacing[0].runs[1]', /R9/],
    ['a piece that is not there', { stay: [{ run: 'R1', pieces: [0, 99] }] }, 'stay[0].pieces[1]', /pieces 0 to 9/],
    ['a run that is not there', { stay: [{ run: 'X', pieces: [0] }] }, 'stay[0].run', /X/],
    [
      'a reading of no length',
      { gapReadings: [{ joint: 'J1', at: [0, 0], lengthMm: 0 }] },
      'gapReadings[0].lengthMm',
      /greater than 0/,
    ],
    [
      'a gap longer than a rule',
      { gapReadings: [{ joint: 'J1', at: [0, 0], lengthMm: 2000 }] },
      'gapReadings[0].lengthMm',
      /at most 1000/,
    ],
    ['a list that is none', { clearance: 'A' }, 'clearance', /a list is needed/],
    [
      'a car longer between trucks than over all',
      { car: { lengthMm: 200, truckCentresMm: 300, widthMm: 60 } },
      'car.truckCentresMm',
      /long/,
    ],
  ];
  it.each(cases)('%s', (_name, input, field, sentence) => {
    const parsed = wishes(input);
    expect(parsed.ok).toBe(false);
    if (parsed.ok) return;
    expect((parsed.problem.data as { field: string }).field).toBe(field);
    expect(problemLine(parsed.problem)).toMatch(sentence);
  });

  it('takes the defaults of what is missing', () => {
    const parsed = wishes({});
    expect(parsed).toMatchObject({ ok: true, value: { closeGaps: true, stepMm: 1.5875, closingMm: 1.5 } });
  });

  it('says which format a file has that is no file of wishes', () => {
    expect(parseWishes({ format: 'gapwright-stock/1' }, report)).toMatchObject({
      ok: false,
      problem: { code: 'wrong-format', data: { found: 'gapwright-stock/1' } },
    });
    expect(parseWishes([], report)).toMatchObject({ ok: false, problem: { code: 'wrong-format' } });
  });
});

describe('bad stock names the field', () => {
  const cases: [string, Record<string, unknown>, string][] = [
    ['a negative length', { donors: [{ id: 'd1', lengthMm: -254 }] }, 'donors[0].lengthMm'],
    ['half a straight', { straights: [{ lengthMm: 254, count: 1.5 }] }, 'straights[0].count'],
    ['a donor without a name', { donors: [{ id: '', lengthMm: 254 }] }, 'donors[0].id'],
    [
      'two donors of one name',
      {
        donors: [
          { id: 'a', lengthMm: 254 },
          { id: 'a', lengthMm: 222 },
        ],
      },
      'donors[1].id',
    ],
    ['a kerf in words', { kerfMm: 'one' }, 'kerfMm'],
    ['a negative kerf', { kerfMm: -1 }, 'kerfMm'],
  ];
  it.each(cases)('%s', (_name, input, field) => {
    const parsed = stock(input);
    expect(parsed).toMatchObject({ ok: false, problem: { code: 'bad-field', data: { field } } });
  });
});

describe('reading a report', () => {
  it('fills lists that are missing', () => {
    const { table, track, runs, joints } = report;
    const bare = { format: report.format, table, track, runs, joints: joints.map(({ seen: _, ...rest }) => rest) };
    const parsed = parseReport(bare);
    expect(parsed).toMatchObject({ ok: true, value: { warnings: [], clearances: [] } });
  });

  it('needs no outline, but then there is no side to wish for', () => {
    const parsed = parseReport({ ...report, table: { outline: [], sides: [] } });
    if (!parsed.ok) throw new Error(parsed.problem.code);
    const asked = parseWishes({ format: 'gapwright-wishes/1', clearance: [{ side: 'A', atLeastMm: 3 }] }, parsed.value);
    expect(asked).toMatchObject({ ok: false, problem: { code: 'bad-field', data: { field: 'clearance[0].side' } } });
    const free = parseWishes({ format: 'gapwright-wishes/1', keepFree: [zone] }, parsed.value);
    expect(free.ok).toBe(true);
  });

  it.each([
    [
      'table.outline',
      {
        table: {
          ...report.table,
          outline: [
            [0, 0],
            [1e9, 0],
            [0, 1e9],
          ],
        },
      },
    ],
    [
      'runs[0].pieces[0]',
      { runs: [{ ...report.runs[0], pieces: [{ ...report.runs[0].pieces[0], from: [1e300, 0] }] }] },
    ],
    ['joints[0]', { joints: [{ ...report.joints[0], gap: { value: 1e9, u: 1 } }] }],
  ])('names %s where it lies farther away than any table reaches', (field, more) => {
    expect(parseReport({ ...report, ...more })).toMatchObject({ ok: false, problem: { data: { field } } });
  });

  it('names what is wrong in it', () => {
    expect(parseReport({ ...report, runs: 7 })).toMatchObject({ ok: false, problem: { data: { field: 'runs' } } });
    const short = { ...report, table: { ...report.table, outline: [[0, 0]] } };
    expect(parseReport(short)).toMatchObject({ ok: false, problem: { data: { field: 'table.outline' } } });
    const [joint] = report.joints;
    const overlapping = { ...report, joints: [{ ...joint, open: true, gap: { value: -2, u: 0.2 } }] };
    expect(parseReport(overlapping)).toMatchObject({ ok: false, problem: { data: { field: 'joints[0].gap' } } });
    const twice = { ...report, runs: [...report.runs, ...report.runs] };
    expect(parseReport(twice)).toMatchObject({ ok: false, problem: { data: { field: 'runs[1].id' } } });
  });
});
