import { describe, expect, it } from 'vitest';
import { cutSheetDxf } from '../../server/exports/cut-sheet-dxf.js';
import { cutSheetPdf } from '../../server/exports/cut-sheet-pdf.js';
import { markerSheetPdf } from '../../server/exports/marker-sheet.js';
import { ptPerMm } from '../../server/exports/paper.js';
import { gapPlan } from '../support/bench-plans.js';

const created = new Date('2026-01-02T03:04:05Z');

function mediaBoxes(pdf: Uint8Array): number[][] {
  const text = Buffer.from(pdf).toString('latin1');
  return [...text.matchAll(/\/MediaBox \[([^\]]+)\]/g)].map((m) => m[1].trim().split(/\s+/).map(Number));
}

describe('published facts of the file formats', () => {
  it('PDF counts in 1/72 in: 100 mm are 283.4646 units (ISO 32000-1, 8.3.2.3)', () => {
    expect(100 * ptPerMm).toBeCloseTo(283.4646, 4);
  });

  it('A4 is 595.276 × 841.890 and Letter 612 × 792 units, lying pages the other way round (ISO 216; ANSI Y14.1)', async () => {
    const a4 = mediaBoxes(await markerSheetPdf({ ids: [0], paper: 'a4', sideMm: 120, created }));
    expect(a4).toEqual([[0, 0, expect.closeTo(595.276, 2), expect.closeTo(841.89, 2)]]);
    const options = { paper: 'letter', style: { unit: 'in', denominator: 16 }, tableName: '', created } as const;
    const letter = mediaBoxes(await cutSheetPdf(gapPlan([50.8]), null, options));
    expect(letter).toEqual([
      [0, 0, expect.closeTo(612, 6), expect.closeTo(792, 6)],
      [0, 0, expect.closeTo(792, 6), expect.closeTo(612, 6)],
    ]);
  });

  it('/PrintScaling /None asks for no scaling, and no /UserUnit changes the unit (ISO 32000-1, tables 30 and 150)', async () => {
    const text = Buffer.from(await markerSheetPdf({ ids: [0], paper: 'a4', sideMm: 120, created })).toString('latin1');
    expect(text).toContain('/PrintScaling /None');
    expect(text).not.toContain('/UserUnit');
  });

  it('$INSUNITS is 1 for inches and 4 for millimetres (DXF reference, header section)', () => {
    const unitOf = (unit: 'in' | 'mm') =>
      /\$INSUNITS\s+70\s+(\d+)/.exec(cutSheetDxf(gapPlan([50.8]), { unit, denominator: 16 }))?.[1];
    expect(unitOf('in')).toBe('1');
    expect(unitOf('mm')).toBe('4');
  });
});
