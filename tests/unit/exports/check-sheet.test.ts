import { describe, expect, it } from 'vitest';
import { checkRows } from '../../../server/contract/check-rows.js';
import { checkSheetPdf } from '../../../server/exports/check-sheet-pdf.js';
import { gapPlan, ovalReport } from '../../support/bench-plans.js';
import { canPrint, pageCount, printedText } from '../../support/printed-page.js';

const plan = gapPlan([50.8, 101.6]);
const options = {
  paper: 'letter',
  style: { unit: 'in', denominator: 16 },
  tableName: 'Attic oval',
  created: new Date('2026-01-02T03:04:05Z'),
} as const;

describe('check of the cuts', () => {
  it('compares each joint and clearance with the plan', () => {
    const rows = checkRows(plan, ovalReport([0.3, 3.4]));
    expect(rows.map((r) => [r.name, r.verdict])).toEqual([
      ['Joint 1', 'good'],
      ['Joint 2', 'off'],
      ['side A', 'good'],
      ['side B', 'good'],
    ]);
    expect(rows[1].difference?.value).toBeCloseTo(3.4, 9);
    expect(rows[2].difference?.value).toBeCloseTo(159.525 - 159.5, 9);
  });

  it('gives no verdict where the uncertainty reaches over the limit, on both sides of it', () => {
    const verdictAt = (gapMm: number, u: number) => {
      const report = ovalReport([gapMm]);
      report.joints[0].gap.u = u;
      return checkRows(plan, report)[0].verdict;
    };
    // The limit is 3/32 in, 2.38 mm; 1.96 · 0.2 mm = 0.39 mm on each side of it.
    expect(verdictAt(1.95, 0.2)).toBe('good');
    expect(verdictAt(2.05, 0.2)).toBe('too close to call');
    expect(verdictAt(2.7, 0.2)).toBe('too close to call');
    expect(verdictAt(2.8, 0.2)).toBe('off');
    expect(verdictAt(0, 1.3)).toBe('too close to call');
  });

  it('says what was not measured instead of passing it', () => {
    const report = ovalReport([]);
    report.clearances = report.clearances.filter((c) => c.side !== 'B');
    expect(checkRows(plan, report).find((r) => r.name === 'side B')).toMatchObject({
      verdict: 'not measured',
      difference: null,
    });
  });

  it('counts a planned joint allowance as planned', () => {
    expect(checkRows(plan, ovalReport([2]), 2)[0]).toMatchObject({ plannedMm: 2, verdict: 'good' });
  });

  it('counts a smaller clearance as off like a larger one', () => {
    for (const byMm of [-8, 8]) {
      const report = ovalReport([]);
      report.clearances[0].distance.value += byMm;
      expect(checkRows(plan, report)[0]).toMatchObject({ name: 'side A', verdict: 'off' });
    }
  });

  it.skipIf(!canPrint)('prints the sheet with the worst first, signed differences and ±', async () => {
    const report = ovalReport([0.3, 3.4]);
    report.clearances[1].distance = { value: 330, u: 0.8 };
    const text = printedText(await checkSheetPdf(plan, report, options));
    expect(text).toContain('2 off, 2 good of 4 checked.');
    expect(text).toMatch(/side B .*−8\.5 ± 1\.6 mm\s+off/);
    expect(text).toMatch(/Joint 2 .*\+3\.4 ± 0\.4 mm\s+off/);
    expect(text.indexOf('Joint 2 ')).toBeLessThan(text.indexOf('Joint 1 '));
  });

  it.skipIf(!canPrint)('prints what helps once with all places that it is for, as the page says it', async () => {
    const report = ovalReport([0.3]);
    const sides = report.clearances.map(({ side, distance }) => ({ side, distance: { ...distance } }));
    const shifted = { ...plan, predicted: { ...plan.predicted, clearances: sides } };
    report.clearances[0].distance.value -= 31.75;
    report.clearances[2].distance.value += 31.75;
    const text = printedText(await checkSheetPdf(shifted, report, options)).replace(/\s+/g, ' ');
    expect(text.match(/slide run R1 about 1 1\/4 in towards side C/g)).toHaveLength(1);
    expect(text).toContain('side A, side C: The track is as long as planned');
  });

  it.skipIf(!canPrint)(
    'goes over several pages with many joints and says so when there is nothing to check',
    async () => {
      const many = ovalReport(Array.from({ length: 60 }, (_, i) => (i % 5) * 0.3));
      expect(pageCount(await checkSheetPdf(plan, many, options))).toBeGreaterThan(1);
      const empty = { ...plan, predicted: { clearances: [], closing: [] } };
      expect(printedText(await checkSheetPdf(empty, ovalReport([]), options))).toContain('Nothing to check');
    },
  );
});
