import { describe, expect, it } from 'vitest';
import { planWarning } from '../../../server/contract/plan-words.js';
import { cutSheetPdf } from '../../../server/exports/cut-sheet-pdf.js';
import type { LengthStyle } from '../../../server/units/format-length.js';
import { gapPlan, gapReport, type PlanWords, ruledPlan, someLengths } from '../../support/bench-plans.js';
import {
  canPrint,
  documentFacts,
  type PrintedPage,
  pageCount,
  printedText,
  printPage,
} from '../../support/printed-page.js';

const created = new Date('2026-01-02T03:04:05Z');
const inches: LengthStyle = { unit: 'in', denominator: 16 };
const mm: LengthStyle = { unit: 'mm', denominator: 16 };

function sheetOf(lengthsMm: number[], words: PlanWords = {}, paper: 'letter' | 'a4' = 'letter', style = inches) {
  const options = { paper, style, tableName: 'Attic oval', created } as const;
  return cutSheetPdf(gapPlan(lengthsMm, words), gapReport(lengthsMm), options);
}

describe.skipIf(!canPrint)('cut sheet', () => {
  it.each(['letter', 'a4'] as const)(
    'has up to four fillers on one page of %s and the strips on the next',
    async (paper) => {
      for (const count of [1, 4]) {
        const pages = printedText(await sheetOf(someLengths(count), {}, paper)).split('\f');
        expect(pages).toHaveLength(3);
        expect(pages[0]).toContain('Take care');
        expect(pages[0]).toContain('Where they go');
        expect(pages[1]).toContain('Strips at true size');
      }
    },
  );

  it('says before everything else what is not safe, and which run is to be slid', async () => {
    const car = { lengthMm: 279.4, truckCentresMm: 190.5, widthMm: 63.5 };
    const place = { run: 'R1', kind: 'edge' as const, against: 'B', roomMm: -19.05, at: [0, 0] as [number, number] };
    const plan = {
      ...gapPlan([50.8]),
      shift: { R1: [0, 31.75] as [number, number] },
      trainRoom: { car, tightest: place, places: [place] },
    };
    const options = { paper: 'letter', style: inches, tableName: 'Attic oval', created } as const;
    const text = printedText(await cutSheetPdf(plan, gapReport([50.8]), options));
    const places = ['NOT SAFE TO RUN', 'reaches 3/4 in beyond', 'Slide run R1 1 1/4 in towards side C.', 'Cut to'];
    const found = places.map((words) => text.indexOf(words));
    expect(found).toEqual([...found].sort((a, b) => a - b));
    expect(found[0]).toBeGreaterThan(0);
  });

  it.each([
    [12, 3],
    [40, 7],
  ])('lists %i fillers on at most %i pages', async (count, pages) => {
    const pdf = await sheetOf(someLengths(count));
    const text = printedText(pdf);
    for (let i = 1; i <= count; i++) expect(text).toMatch(new RegExp(`^ *F${i} `, 'm'));
    expect(pageCount(pdf)).toBeLessThanOrEqual(pages);
  });

  it.each(['letter', 'a4'] as const)('prints the strips of each donor true to 0.2 %% on %s', async (paper) => {
    const lengths = [50.8, 101.6, 76.2, 63.5];
    const page = printPage(await sheetOf(lengths, {}, paper), 2, 300);
    const strips = stripsOn(page);
    expect(strips).toHaveLength(2);
    const wanted = [
      [0, 50.8, 153.4, 230.6, 254],
      [0, 63.5, 254],
    ];
    strips.forEach((strip, s) => {
      expect(strip).toHaveLength(wanted[s].length);
      strip.forEach((at, i) => {
        expect(Math.abs(at - wanted[s][i])).toBeLessThan(Math.max(0.002 * wanted[s][i], 0.15));
      });
    });
  });

  it('splits the strip of a donor that is longer than the paper at marks that it states', async () => {
    const text = printedText(await sheetOf([100, 120], { donorMm: 600 }));
    expect(text).toMatch(/part 1 of 3, 0 mm to \d+ mm/);
    expect(text).toMatch(/join here at \d+ mm/);
  });

  it('says plainly not to cut when the planner is not sure, why, and leaves the strips out', async () => {
    const message = 'The gap J2 is known only to ± 3.1 mm.';
    const pdf = await sheetOf([50.8, 76.2], { warnings: [{ code: 'too-uncertain-to-cut', message }] });
    const text = printedText(pdf);
    expect(text).toContain('DO NOT CUT YET');
    expect(text).toContain(message);
    expect(text).not.toContain('Strips at true size');
    expect(printedText(await sheetOf([50.8, 76.2]))).not.toContain('DO NOT CUT');
  });

  it('lists wishes that are not met with what they lack', async () => {
    const text = printedText(await sheetOf([50.8], { unmet: [{ wish: 'clearance A', shortByMm: 6.35 }] }));
    expect(text).toMatch(/Wishes that this plan cannot meet/);
    expect(text).toContain('Room along side A: short by 1/4 in (6.3 mm)');
  });

  it('is one page that says so when there is nothing to cut', async () => {
    const pdf = await sheetOf([]);
    expect(pageCount(pdf)).toBe(1);
    expect(printedText(pdf)).toContain('There is no filler to cut');
  });

  it('writes lengths in the unit asked for with the other beside it, and ± with what was measured', async () => {
    const inInches = printedText(await sheetOf([50.8]));
    expect(inInches).toMatch(/F1\s+2 in\s+50\.8 mm/);
    expect(inInches).toMatch(/2 in ± 0\.03 in/);
    expect(printedText(await sheetOf([50.8], {}, 'a4', mm))).toMatch(/F1\s+50\.8 mm\s+2 in/);
  });

  it('stays readable with very long names, which are whole in the title', async () => {
    const tableName = 'The table in the loft where winter things were kept '.repeat(8).trim();
    const plan = gapPlan([50.8, 76.2], { donorNames: (i) => `${'straight from the box '.repeat(9)}${i}` });
    const pdf = await cutSheetPdf(plan, gapReport([50.8, 76.2]), {
      paper: 'letter',
      style: inches,
      tableName,
      created,
    });
    expect(pageCount(pdf)).toBe(2);
    expect(printedText(pdf)).toMatch(/F1\s+2 in.*no\. 1/);
    expect(documentFacts(pdf).replace(/\s+/g, ' ')).toContain(tableName.slice(0, 200));
  });

  it('says what has to come out where a filler takes the place of a section', async () => {
    const plan = gapPlan([50.8]);
    const [stretch] = plan.stretches;
    const told = { ...stretch, pieces: [0, 1], order: [{ piece: 0 }, { filler: 'F1' }] };
    const options = { paper: 'a4', style: inches, tableName: '', created } as const;
    const all = { ...plan, stretches: [told] };
    const text = printedText(await cutSheetPdf(all, null, options));
    expect(text).toContain('Straights to lay anew');
    expect(text).toContain('Take out Straight 2');
    const kept = { ...plan, stretches: [{ ...told, order: [{ piece: 0 }, { filler: 'F1' }, { piece: 1 }] }] };
    expect(printedText(await cutSheetPdf(kept, null, options))).not.toMatch(/take out/i);
  });

  it('says where on the table lies what has to come out, and where the order begins', async () => {
    const plan = gapPlan([50.8]);
    const [stretch] = plan.stretches;
    const told = { ...stretch, pieces: [0, 1], order: [{ piece: 0 }, { filler: 'F1' }] };
    const options = { paper: 'a4', style: inches, tableName: '', created } as const;
    const sheet = await cutSheetPdf({ ...plan, stretches: [told] }, gapReport([50.8]), options);
    const text = printedText(sheet, 'raw').replace(/\s+/g, ' ');
    expect(text).toMatch(/beginning by side A, 22 in from corner D\/A/);
    expect(text).toMatch(/Take out Straight 2, [^:]*: by side A, 56 in from corner D\/A/);
  });

  it('names the runs on the small plan where there are several', async () => {
    const report = gapReport([50.8]);
    const [run] = report.runs;
    const two = { ...report, runs: [run, { ...run, id: 'R2' }] };
    const options = { paper: 'a4', style: inches, tableName: '', created } as const;
    const named = async (of: typeof report) => {
      const text = printedText(await cutSheetPdf(gapPlan([50.8]), of, options), 'raw');
      return ['R1', 'R2'].filter((name) => new RegExp(`^${name}$`, 'm').test(text));
    };
    expect(await named(report)).toEqual([]);
    expect(await named(two)).toEqual(['R1', 'R2']);
  });

  it('foretells a wished spacing, and small lengths in the reader’s unit', async () => {
    const plan = gapPlan([50.8]);
    const [filler] = plan.fillers;
    const oneStepLonger = { closingMm: null, clearances: [{ side: 'D', changeMm: -1.5875 }] };
    const spacings = [{ runs: ['R1', 'R2'] as [string, string], distance: { value: 114.3, u: 0.3 } }];
    const told = { ...plan, fillers: [{ ...filler, oneStepLonger }], predicted: { ...plan.predicted, spacings } };
    const said = async (style: LengthStyle) => {
      const options = { paper: 'a4', style, tableName: '', created } as const;
      return printedText(await cutSheetPdf(told, gapReport([50.8]), options), 'raw').replace(/\s+/g, ' ');
    };
    expect(await said(inches)).toContain('Expected spacing: R1 to R2 4 1/2 in ± 0.03 in.');
    expect(await said(inches)).toContain('too long means: F1 0.06 in less to side D.');
    expect(await said(mm)).toContain('too long means: F1 1.6 mm less to side D.');
  });

  it('names every gap that a filler closes and their sum, with room for what the rule says of each', async () => {
    const lengths = [50.8, 76.2, 63.5];
    const plan = gapPlan(lengths);
    const [lower, upper] = plan.stretches;
    const total = { value: lengths[0] + lengths[2] + 0.6, u: 0.3 };
    const fillers = [{ ...plan.fillers[0], lengthMm: 114.3, gap: total }, plan.fillers[1]];
    const order = (lower.order ?? []).filter((part) => !('filler' in part && part.filler === 'F3'));
    const made = lower.made.filter((part) => !('filler' in part && part.filler === 'F3'));
    const slid = { ...plan, fillers, stretches: [{ ...lower, order, made }, upper] };
    const options = { paper: 'letter', style: mm, tableName: '', created } as const;
    const text = printedText(await cutSheetPdf(slid, gapReport(lengths), options), 'raw').replace(/\s+/g, ' ');
    expect(text).toContain('Gap 1 + Gap 2: by side A');
    expect(text).toMatch(/Gap 1: 51\.1 mm, rule says _+ Gap 2: 63\.8 mm, rule says _+ together 114\.9 ± 0\.6 mm/);
    expect(text).toMatch(/76\.5 ± 0\.4 mm, rule says _/);
    expect(text).toMatch(/How to cut 1 Before you cut, lay a steel rule in each gap/);
  });

  it('says where a rule counts, and leaves no room there for what it says', async () => {
    const lengths = [50.8, 76.2];
    const plan = ruledPlan(gapPlan(lengths), 'J1', 52.3875);
    const options = { paper: 'letter', style: inches, tableName: '', created } as const;
    const text = printedText(await cutSheetPdf(plan, gapReport(lengths), options), 'raw').replace(/\s+/g, ' ');
    expect(text).toMatch(/2 1\/16 in ± 0\.03 in, by the rule 52\.4 ± 0\.6 mm/);
    expect(text.match(/rule says/g)).toHaveLength(1);
    // The plan alone tells it too.
    expect(printedText(await cutSheetPdf(plan, null, options), 'raw')).toMatch(/± 0\.03 in, by the rule/);
  });

  it('asks for the rule first, but not where it was laid in all gaps already', async () => {
    const lengths = [50.8, 76.2];
    const one = ruledPlan(gapPlan(lengths), 'J1', 51.5);
    const both = ruledPlan(one, 'J2', 76.5);
    const options = { paper: 'letter', style: inches, tableName: '', created } as const;
    const said = async (plan: typeof one) => printedText(await cutSheetPdf(plan, gapReport(lengths), options), 'raw');
    expect(await said(one)).toMatch(/lay a steel rule in each\sgap/);
    expect(await said(both)).not.toMatch(/lay a steel rule in each\sgap/);
    expect(await said(both)).toContain('A steel rule was laid in every gap');
  });

  it('says where a gap was checked with the rule, and leaves no room there for what it says', async () => {
    const lengths = [50.8, 76.2];
    const plan = ruledPlan(gapPlan(lengths), 'J1', 51.5);
    const options = { paper: 'letter', style: mm, tableName: '', created } as const;
    for (const report of [gapReport(lengths), null]) {
      const text = printedText(await cutSheetPdf(plan, report, options), 'raw').replace(/\s+/g, ' ');
      // Weights 4 : 9 of 51.5 and 51.1.
      expect(text).toMatch(/51\.2 ± 0\.3 mm, checked with the rule 2 1\/64 in ± 0\.02 in/);
      expect(text.match(/rule says/g)).toHaveLength(1);
    }
  });

  it('says of each gap of a sum whether a rule counts there', async () => {
    const lengths = [50.8, 76.2, 63.5];
    const plan = ruledPlan(gapPlan(lengths), 'J1', 54);
    const [lower, upper] = plan.stretches;
    const fillers = [{ ...plan.fillers[0], lengthMm: 117.475, gap: { value: 117.8, u: 0.4 } }, plan.fillers[1]];
    const order = (lower.order ?? []).filter((part) => !('filler' in part && part.filler === 'F3'));
    const made = lower.made.filter((part) => !('filler' in part && part.filler === 'F3'));
    const slid = { ...plan, fillers, stretches: [{ ...lower, order, made }, upper] };
    const options = { paper: 'letter', style: mm, tableName: '', created } as const;
    const text = printedText(await cutSheetPdf(slid, gapReport(lengths), options), 'raw').replace(/\s+/g, ' ');
    expect(text).toMatch(/Gap 1: 54\.0 mm by the rule Gap 2: 63\.8 mm, rule says _+ together 117\.8 ± 0\.8 mm/);
  });

  it('says before the fillers where rule and photo differ, once, in the reader’s unit', async () => {
    const estimate = (value: number) => ({ value, u: 0.3 });
    const data = { gap: 'Gap 1', rule: estimate(54), photo: estimate(51.1) };
    const plan = { ...gapPlan([50.8]), warnings: [planWarning('rule-against-photo', data)] };
    const options = { paper: 'letter', style: mm, tableName: '', created } as const;
    const text = printedText(await cutSheetPdf(plan, gapReport([50.8]), options)).replace(/\s+/g, ' ');
    const said = 'Gap 1: the rule says 54.0 mm ± 0.6 mm, the photo 51.1 mm ± 0.6 mm.';
    const places = ['RULE AND PHOTO DIFFER', said, 'Cut to'].map((words) => text.indexOf(words));
    expect(places).toEqual([...places].sort((a, b) => a - b));
    expect(places[0]).toBeGreaterThan(0);
    expect(text.split(said)).toHaveLength(2);
  });

  it('lists a straight to lay anew in the order in which it lies, by the names of the measured plan', async () => {
    const plan = gapPlan([50.8]);
    const [lower] = plan.stretches;
    const order = [{ piece: 1 }, { filler: 'F1' }, { piece: 0 }, { lengthMm: 127, source: 'stock' as const }];
    const options = { paper: 'letter', style: inches, tableName: '', created } as const;
    const pdf = await cutSheetPdf(
      { ...plan, stretches: [{ ...lower, order, thenMm: lower.nowMm + 127 }] },
      gapReport([50.8]),
      options,
    );
    const text = printedText(pdf, 'raw').replace(/\s+/g, ' ');
    expect(text).toContain('Straight 2, F1, Straight 1, 5 in from what is at hand');
  });

  it('works without a report, and from letters of other scripts', async () => {
    const options = { paper: 'a4', style: inches, tableName: 'Чердак Σοφίτα 屋根裏', created } as const;
    const text = printedText(await cutSheetPdf(gapPlan([50.8]), null, options));
    expect(text).toContain('Чердак Σοφίτα □□□');
    expect(text).toContain('R1 gap J1');
  });

  it('prints a check bar of 100 mm and one of 4 in on each page and names the cautions', async () => {
    const pdf = await sheetOf([50.8]);
    const pages = printedText(pdf).split('\f').slice(0, 2);
    for (const page of pages) {
      expect(page).toContain('100 mm');
      expect(page).toMatch(/\b4 in\b/);
    }
    for (const word of [
      'safety glasses',
      'Unplug the transformer',
      'Cut-off wheel',
      'Clamp',
      'Burrs',
      'insulated',
      'manual',
    ]) {
      expect(pages[0]).toContain(word);
    }
  });

  it('gives the same bytes for the same date, with embedded fonts and tags', async () => {
    const first = await sheetOf([50.8]);
    expect(Buffer.from(first).equals(Buffer.from(await sheetOf([50.8])))).toBe(true);
    expect(documentFacts(first)).toMatch(/Tagged: +yes/);
    expect(Buffer.from(first).toString('latin1')).toMatch(/\/PrintScaling \/None/);
  });
});

/**
 * Finds the strips on a page as a reader with a rule would: upright black strokes of the strip's height. Each strip is
 * the list of distances from its left edge to each mark and to its right edge, millimetres.
 */
function stripsOn(page: PrintedPage): number[][] {
  const dark = (x: number, y: number) => page.grey[y * page.widthPx + x] < 150;
  const leastPx = Math.round(12.4 / page.mmPerPx);
  const strips = new Map<number, number[]>();
  for (let x = 0; x < page.widthPx; x++) {
    let run = 0;
    for (let y = 0; y <= page.heightPx; y++) {
      if (y < page.heightPx && dark(x, y)) {
        run++;
        continue;
      }
      if (run >= leastPx) {
        const middle = Math.round(((y - run / 2) * page.mmPerPx) / 10);
        strips.set(middle, [...(strips.get(middle) ?? []), x]);
      }
      run = 0;
    }
  }
  return [...strips.entries()]
    .sort((a, b) => a[0] - b[0])
    .map(([, columns]) => {
      const strokes = columns.filter((x, i) => i === 0 || x - columns[i - 1] > 1);
      return strokes.map((x) => (x - strokes[0]) * page.mmPerPx);
    });
}
