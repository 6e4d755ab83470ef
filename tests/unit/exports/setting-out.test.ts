import { describe, expect, it } from 'vitest';
import { settingOutPdf } from '../../../server/exports/setting-out-pdf.js';
import { gapPlan, gapReport, ovalReport } from '../../support/bench-plans.js';
import { canPrint, pageCount, printedText } from '../../support/printed-page.js';

const options = {
  paper: 'a4',
  style: { unit: 'in', denominator: 16 },
  tableName: 'Attic oval',
  accessories: [{ name: 'water tower', centre: [1100, 600], widthMm: 100, depthMm: 60, angleRad: 0 }],
  created: new Date('2026-01-02T03:04:05Z'),
} as const;

describe.skipIf(!canPrint)('setting-out sheet', () => {
  it('gives each place two tape offsets in both units', async () => {
    const text = printedText(await settingOutPdf(gapReport([50.8, 101.6]), null, options));
    expect(text).toMatch(/1\s+R1\s+start of the straight\s+A: 7 1\/16 in · 180\.0 mm\s+D: 22 1\/16 in · 560\.0 mm/);
    expect(text).toContain('The layout as it was measured.');
  });

  it('uses the planned places where there is a plan', async () => {
    const plan = gapPlan([50.8, 101.6]);
    plan.shift = { R1: [0, 20] };
    const text = printedText(await settingOutPdf(gapReport([50.8, 101.6]), plan, options));
    expect(text).toMatch(/start of the straight\s+A: .* · 200\.0 mm/);
    expect(text).toContain('The layout as planned');
  });

  it('places accessories by two corners', async () => {
    const text = printedText(
      await settingOutPdf(ovalReport([]), null, { ...options, style: { unit: 'mm', denominator: 16 } }),
    );
    expect(text).toMatch(/water tower\s+100\.0 mm × 60\.0 mm\s+A: 570\.0 mm\s+A: 570\.0 mm/);
    expect(text).toMatch(/D: 1050\.0 mm\s+D: 1150\.0 mm/);
  });

  it('says how well the table is known, and warns when the plan is not sure', async () => {
    const plan = gapPlan([50.8], {
      warnings: [{ code: 'too-uncertain-to-cut', message: 'The gap J1 is too uncertain.' }],
    });
    const text = printedText(await settingOutPdf(gapReport([50.8]), plan, options));
    expect(text).toMatch(/± 0\.05 in\s+\(95 %\)/);
    expect(text).toMatch(/NOT SURE ENOUGH YET\s+The gap J1 is too uncertain\./);
  });

  it('fits a loop on one page and says so when there is no track', async () => {
    expect(pageCount(await settingOutPdf(gapReport([50.8, 101.6]), null, options))).toBe(1);
    const none = ovalReport([]);
    none.runs = [];
    expect(printedText(await settingOutPdf(none, null, options))).toContain('No track was measured');
  });
});
