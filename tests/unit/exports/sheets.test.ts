import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { isSheetName, type SheetName, sheetForms } from '../../../server/exports/sheets.js';
import { gapPlan, gapReport, ovalReport, ruledPlan } from '../../support/bench-plans.js';

const options = {
  paper: 'letter',
  style: { unit: 'in', denominator: 16 },
  tableName: 'Attic oval',
  accessories: [],
} as const;

/** First bytes of each kind of file. */
const starts: Record<string, RegExp> = {
  pdf: /^%PDF-1\./,
  csv: /^[a-z_]+,/,
  svg: /^<\?xml/,
  dxf: /^\s*0\r?\nSECTION/,
  png: /^\u0089PNG/,
};

describe('sheets by the names of their files', () => {
  it('are all made from a whole table, each in its format', async () => {
    const grey = { create: { width: 300, height: 160, channels: 3 as const, background: '#888' } };
    const picture = new Uint8Array(await sharp(grey).jpeg().toBuffer());
    const originInTable: [number, number] = [-60, 1290];
    const planView = { widthPx: 300, heightPx: 160, mmPerPx: 9, originInTable, heightMm: 17.5 };
    const plan = gapPlan([50.8]);
    const sources = { report: gapReport([50.8]), plan, planned: plan, planView, picture };
    for (const name of Object.keys(sheetForms) as SheetName[]) {
      const made = await sheetForms[name].make(sources, options);
      const start = Buffer.from(made as Uint8Array)
        .subarray(0, 40)
        .toString('latin1');
      expect(start, name).toMatch(starts[name.slice(name.lastIndexOf('.') + 1)]);
    }
  });

  it('need no plan where the measured layout is enough', async () => {
    for (const name of ['layout.svg', 'setting-out.pdf', 'measurements.csv'] as const) {
      expect(sheetForms[name].needs).toEqual(['report']);
      expect((await sheetForms[name].make({ report: ovalReport([12]) }, options)).length).toBeGreaterThan(500);
    }
  });

  it('write lengths in fractions as fine as the steps that the plan was made in', async () => {
    const plan = { ...gapPlan([50.8]), stepMm: 25.4 / 32 };
    const [filler] = plan.fillers;
    if (filler === undefined) throw new Error('one gap, one filler');
    filler.lengthMm = (27 * 25.4) / 32;
    expect(String(await sheetForms['cut-sheet.csv'].make({ plan }, options))).toContain('27/32');
    const coarse = String(await sheetForms['cut-sheet.csv'].make({ plan: { ...plan, stepMm: 25.4 / 16 } }, options));
    expect(coarse).not.toContain('27/32');
  });

  it('of measurements tell what a rule says where the plan has it', async () => {
    const sources = { report: gapReport([50.8]), plan: ruledPlan(gapPlan([50.8]), 'J1', 52) };
    expect(String(await sheetForms['measurements.csv'].make(sources, options))).toContain('open gap by the rule,J1');
  });

  it('know their names and no others', () => {
    expect(isSheetName('cut-sheet.pdf')).toBe(true);
    expect(isSheetName('cut-sheet.exe')).toBe(false);
    expect(isSheetName('toString')).toBe(false);
  });
});
