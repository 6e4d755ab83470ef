import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { checkSheetPdf } from '../../server/exports/check-sheet-pdf.js';
import { cutSheetCsv } from '../../server/exports/cut-sheet-csv.js';
import { cutSheetDxf } from '../../server/exports/cut-sheet-dxf.js';
import { cutSheetPdf } from '../../server/exports/cut-sheet-pdf.js';
import { cutSheetSvg } from '../../server/exports/cut-sheet-svg.js';
import { layoutDxf, layoutSvg } from '../../server/exports/layout-files.js';
import { reportCsv } from '../../server/exports/report-csv.js';
import { settingOutPdf } from '../../server/exports/setting-out-pdf.js';
import { gapPlan, gapReport, ovalReport, someLengths } from '../support/bench-plans.js';
import { canPrint, printedText } from '../support/printed-page.js';

/**
 * The documents as they were when somebody last looked at them. After a wanted change run with GAPWRIGHT_GOLDEN=write,
 * look at the difference, and commit it with the change.
 */
const folder = new URL('./documents/', import.meta.url);
const style = { unit: 'in', denominator: 16 } as const;
const options = { paper: 'letter', style, tableName: 'Attic oval', created: new Date('2026-01-02T03:04:05Z') } as const;
const lengths = someLengths(5);
const plan = gapPlan(lengths);
const report = gapReport(lengths);
const accessories = [{ name: 'water tower', centre: [1100, 600], widthMm: 90, depthMm: 60, angleRad: 0.4 }] as const;

function expectAsBefore(name: string, text: string): void {
  const file = fileURLToPath(new URL(name, folder));
  if (process.env.GAPWRIGHT_GOLDEN === 'write') {
    mkdirSync(fileURLToPath(folder), { recursive: true });
    writeFileSync(file, text);
  }
  expect(text).toBe(readFileSync(file, 'utf8'));
}

/** Words in the order in which they are drawn; how far apart a version of the reader sets them does not matter. */
function words(pdf: Uint8Array): string {
  const lines = printedText(pdf, 'raw').replaceAll('\f', '\n--- page ---\n').split('\n');
  return `${lines
    .map((l) => l.trim().replace(/\s+/g, ' '))
    .filter((l) => l !== '')
    .join('\n')}\n`;
}

describe('documents are as they were last approved', () => {
  it('cut sheet as CSV', () => expectAsBefore('cut-sheet.csv', cutSheetCsv(plan, style)));
  it('strips as SVG', () => expectAsBefore('cut-sheet.svg', cutSheetSvg(plan, style)));
  it('strips as DXF', () => expectAsBefore('cut-sheet.dxf', cutSheetDxf(plan, style)));
  it('planned layout as SVG', () => expectAsBefore('layout.svg', layoutSvg(report, plan, { style, accessories })));
  it('measured layout as DXF', () => expectAsBefore('layout.dxf', layoutDxf(report, null, { style, accessories })));
  it('report as CSV', () => expectAsBefore('report.csv', reportCsv(report, style)));
  it.skipIf(!canPrint)('cut sheet as PDF', async () => {
    expectAsBefore('cut-sheet.txt', words(await cutSheetPdf(plan, report, options)));
  });
  it.skipIf(!canPrint)('setting-out sheet as PDF', async () => {
    expectAsBefore('setting-out.txt', words(await settingOutPdf(report, plan, { ...options, accessories })));
  });
  it.skipIf(!canPrint)('check sheet as PDF', async () => {
    expectAsBefore('check-sheet.txt', words(await checkSheetPdf(plan, ovalReport([0.3, 3.4, 1.5]), options)));
  });
});
