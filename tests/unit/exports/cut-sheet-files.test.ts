import { spawnSync } from 'node:child_process';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { writeCsv } from '../../../server/exports/csv.js';
import { cutSheetCsv } from '../../../server/exports/cut-sheet-csv.js';
import { cutSheetDxf } from '../../../server/exports/cut-sheet-dxf.js';
import { cutSheetSvg } from '../../../server/exports/cut-sheet-svg.js';
import type { LengthStyle } from '../../../server/units/format-length.js';
import { gapPlan, gapReport, ruledPlan, someLengths } from '../../support/bench-plans.js';
import { readCsv } from '../../support/read-csv.js';
import { canReadDxf, readDxf } from '../../support/read-dxf.js';

const hasPython = spawnSync('/usr/bin/python3', ['-V']).status === 0;
const inches: LengthStyle = { unit: 'in', denominator: 16 };
const mm: LengthStyle = { unit: 'mm', denominator: 16 };

describe('cut sheet as CSV', () => {
  it.each([0, 1, 12, 40])('reads back the plan of %i fillers within 0.01 mm', (count) => {
    const plan = gapPlan(someLengths(count));
    const [head, ...rows] = readCsv(cutSheetCsv(plan, inches));
    expect(rows).toHaveLength(count);
    const column = (name: string, row: string[]) => row[head.indexOf(name)];
    rows.forEach((row, i) => {
      expect(row).toHaveLength(head.length);
      const filler = plan.fillers[i];
      expect(column('filler', row)).toBe(filler.id);
      expect(Math.abs(Number(column('length_mm', row)) - filler.lengthMm)).toBeLessThan(0.01);
      const donor = plan.donors.find((d) => d.donor === column('donor', row));
      const mark = donor?.marksMm[donor.pieces.indexOf(filler.id)];
      expect(Math.abs(Number(column('mark_mm', row)) - Number(mark))).toBeLessThan(0.01);
      const length = Number(column('mark_mm', row)) - Number(column('start_mm', row));
      expect(Math.abs(length - filler.lengthMm)).toBeLessThan(0.01);
    });
  });

  it.skipIf(!hasPython)('is read by Python’s csv as by our strict reader, odd names too', () => {
    const plan = gapPlan(someLengths(12), { donorNames: (i) => `3" rail, box ${i}\nof "two"` });
    const text = cutSheetCsv(plan, inches);
    const program =
      'import csv, io, json, sys; print(json.dumps(list(csv.reader(io.StringIO(sys.stdin.read(), newline="")))))';
    const run = spawnSync('/usr/bin/python3', ['-c', program], { input: text, encoding: 'utf8' });
    const rows = JSON.parse(run.stdout) as string[][];
    expect(rows).toEqual(readCsv(text));
    expect(rows).toHaveLength(13);
  });

  it('writes the length in the unit asked for and says when nothing may be cut yet', () => {
    const warnings = [{ code: 'too-uncertain-to-cut', message: 'Too rough.' }];
    expect(readCsv(cutSheetCsv(gapPlan([50.8]), inches))[1][2]).toBe('2 in');
    expect(readCsv(cutSheetCsv(gapPlan([50.8]), mm))[1][2]).toBe('50.8 mm');
    expect(readCsv(cutSheetCsv(gapPlan([50.8], { warnings }), inches))[1].at(-1)).toBe('do not cut yet');
  });

  it('names the place as the measured plan does where that is at hand, and keeps plain spaces', () => {
    const lengths = [49.2125, 63.5];
    const text = cutSheetCsv(gapPlan(lengths), inches, gapReport(lengths));
    expect(readCsv(text)[2].slice(2, 5)).toEqual(['2 1/2 in', 'R1', 'Gap 2']);
    expect(text).not.toContain('\u00a0');
  });

  it('says whether photo or rule tells how long the gaps are that a filler closes', () => {
    const lengths = [50.8, 76.2, 63.5];
    const ruled = ruledPlan(gapPlan(lengths), 'J2', 77.5);
    const told = (text: string) => readCsv(text).map((row) => row.at(-2));
    for (const report of [null, gapReport(lengths)])
      expect(told(cutSheetCsv(ruled, inches, report))).toEqual(['gap_told_by', 'photo', 'rule', 'photo']);
    expect(readCsv(cutSheetCsv(ruled, inches))[2][5]).toBe('77.5');
    const checked = ruledPlan(gapPlan(lengths), 'J2', 76.9);
    for (const report of [null, gapReport(lengths)])
      expect(told(cutSheetCsv(checked, inches, report))).toEqual(['gap_told_by', 'photo', 'photo and rule', 'photo']);
    const [lower, upper] = ruled.stretches;
    const order = (lower.order ?? []).filter((part) => !('filler' in part && part.filler === 'F3'));
    const made = lower.made.filter((part) => !('filler' in part && part.filler === 'F3'));
    const total = { value: 52 + lengths[2] + 0.3, u: 0.4 };
    const fillers = [{ ...ruled.fillers[0], gap: total }, ruled.fillers[1]];
    const slid = { ...ruledPlan(ruled, 'J1', 52), fillers, stretches: [{ ...lower, order, made }, upper] };
    expect(told(cutSheetCsv(slid, inches, gapReport(lengths)))).toEqual(['gap_told_by', 'photo and rule', 'rule']);
  });

  it('doubles quotes, quotes commas and line ends, and keeps names from running as formulas', () => {
    // RFC 4180 section 2, rules 5 to 7.
    const odd = ['3"', 'a,b', 'two\r\nlines', '=1+1', 'plain', ''];
    expect(writeCsv([odd])).toBe(`"3""","a,b","two\r\nlines",'=1+1,plain,\r\n`);
    expect(readCsv(writeCsv([odd]))).toEqual([['3"', 'a,b', 'two\r\nlines', "'=1+1", 'plain', '']]);
    expect(writeCsv([[1.23456, -0.0001, 1e9, null]])).toBe('1.235,0,1000000000,\r\n');
  });
});

describe('strips as SVG', () => {
  it('is at true size: one unit of the view box is one millimetre', () => {
    const svg = cutSheetSvg(gapPlan(someLengths(5)), inches);
    const size = /width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(svg) ?? [];
    const [width, height, viewWidth, viewHeight] = size.slice(1).map(Number);
    expect(width).toBeGreaterThan(254);
    expect(viewWidth).toBe(width);
    expect(viewHeight).toBe(height);
  });

  it('has a mark at each cut within 0.01 mm of the plan', () => {
    const plan = gapPlan(someLengths(12));
    const svg = cutSheetSvg(plan, inches);
    const marks = group(svg, 'marks').map((tag) => number(tag, 'x1'));
    const zero = Math.min(...group(svg, 'donors').map((tag) => Number(/points="([\d.]+)/.exec(tag)?.[1])));
    const wanted = plan.donors.flatMap((d) => d.marksMm);
    expect(marks).toHaveLength(wanted.length);
    marks.forEach((x, i) => {
      expect(Math.abs(x - zero - wanted[i])).toBeLessThan(0.01);
    });
  });

  it('is drawn by librsvg with marks true to 0.2 %', async () => {
    const plan = gapPlan([63.5, 76.2]);
    const svg = cutSheetSvg(plan, inches);
    const { data, info } = await sharp(Buffer.from(svg), { density: 200 })
      .flatten({ background: '#fff' })
      .greyscale()
      .raw()
      .toBuffer({ resolveWithObject: true });
    const dotsPerMm = info.width / Number(/width="([\d.]+)mm"/.exec(svg)?.[1]);
    // Half a millimetre inside the lower ends of the marks, where they stand out of the strip, nothing else is drawn.
    const row = Math.round((number(group(svg, 'marks')[0], 'y1') - 0.5) * dotsPerMm);
    const dark = Array.from({ length: info.width }, (_, x) => data[(row * info.width + x) * info.channels] < 140);
    const strokes = dark.flatMap((d, x) => (d && !dark[x - 1] ? [x] : []));
    expect(strokes).toHaveLength(2);
    const apartMm = (strokes[1] - strokes[0]) / dotsPerMm;
    expect(Math.abs(apartMm / 77.2 - 1)).toBeLessThan(0.002);
  });

  it('survives names with markup in them', async () => {
    const plan = gapPlan([50.8], { donorNames: () => `<&"d' \u0001` });
    await expect(sharp(Buffer.from(cutSheetSvg(plan, inches))).metadata()).resolves.toMatchObject({ format: 'svg' });
  });
});

describe('strips as DXF', () => {
  it.skipIf(!canReadDxf).each([inches, mm])('read back the plan within 0.01 mm in $unit', (style) => {
    const plan = gapPlan(someLengths(12));
    const file = readDxf(cutSheetDxf(plan, style));
    expect(file.errors).toEqual([]);
    expect(file.unit).toBe(style.unit === 'in' ? 1 : 4);
    const perUnit = style.unit === 'in' ? 25.4 : 1;
    const marks = file.entities.filter((e) => e.layer === 'marks').map((e) => e.points[0][0] * perUnit);
    const wanted = plan.donors.flatMap((d) => d.marksMm);
    expect(marks).toHaveLength(wanted.length);
    marks.forEach((x, i) => {
      expect(Math.abs(x - wanted[i])).toBeLessThan(0.01);
    });
    const donors = file.entities.filter((e) => e.layer === 'donors');
    for (const donor of donors) expect(Math.abs(donor.points[1][0] * perUnit - 254)).toBeLessThan(0.01);
  });
});

function group(svg: string, id: string): string[] {
  const inside = new RegExp(`<g id="${id}"[^>]*>([\\s\\S]*?)</g>`).exec(svg)?.[1] ?? '';
  return inside.split('\n').filter((line) => line.startsWith('<'));
}

function number(tag: string, name: string): number {
  return Number(new RegExp(` ${name}="([-\\d.]+)"`).exec(tag)?.[1]);
}
