import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { checkBarWords } from '../../../server/contract/print-words.js';
import { largestMarkerSideMm, markerSheetPdf } from '../../../server/exports/marker-sheet.js';
import { paperSizes } from '../../../server/exports/paper.js';
import {
  canPrint,
  documentFacts,
  type PrintedPage,
  pageCount,
  printedText,
  printPage,
} from '../../support/printed-page.js';

const created = new Date('2026-01-02T03:04:05Z');
const papers = ['letter', 'a4'] as const;
const sides = [120, 150] as const;
const cases = papers.flatMap((paper) => sides.map((sideMm) => ({ paper, sideMm })));

const hasSecondReader = spawnSync('/usr/bin/python3', ['-c', 'import cv2; cv2.aruco.DICT_APRILTAG_36h11']).status === 0;

describe('marker sheet', () => {
  it.skipIf(!canPrint).each(cases)('prints a $sideMm mm square true to size on $paper', async ({ paper, sideMm }) => {
    const page = printPage(await markerSheetPdf({ ids: [3], paper, sideMm, created }), 1, 300);
    expect(page.widthPx * page.mmPerPx).toBeCloseTo(paperSizes[paper].widthMm, 0);
    const square = blackSquare(page);
    expect(Math.abs(square.widthMm / sideMm - 1)).toBeLessThan(0.002);
    expect(Math.abs(square.heightMm / sideMm - 1)).toBeLessThan(0.002);
    expect(square.rimMm).toBeGreaterThanOrEqual(sideMm / 8 - 0.1);
  });

  it.skipIf(!canPrint)('says how to check the print as the page does', async () => {
    const pdf = await markerSheetPdf({ ids: [3], paper: 'letter', sideMm: 120, created });
    const said = printedText(pdf, 'raw').replace(/\s+/g, ' ');
    expect(said).toContain(checkBarWords);
    expect(checkBarWords).toMatch(/both check bars, 100 mm and 4 in,.*print again/);
  });

  it.skipIf(!canPrint)('prints check bars of 100 mm and 4 in on every page', async () => {
    const pdf = await markerSheetPdf({ ids: [0, 586], paper: 'letter', sideMm: 150, created });
    for (const page of [1, 2]) {
      const bars = longLevelLines(printPage(pdf, page, 300), 95, 110);
      expect(bars).toHaveLength(2);
      expect(Math.abs(bars[0] / 100 - 1)).toBeLessThan(0.002);
      expect(Math.abs(bars[1] / 101.6 - 1)).toBeLessThan(0.002);
    }
  });

  it.skipIf(!canPrint || !hasSecondReader)('is read by an independent marker reader', async () => {
    const ids = [0, 37, 306, 586];
    const pdf = await markerSheetPdf({ ids, paper: 'a4', sideMm: 120, created });
    const pages = ids.map((_, i) => printPage(pdf, i + 1, 60));
    expect(idsReadByOpenCv(pages)).toEqual(ids.map((id) => [id]));
  });

  it.skipIf(!canPrint)('says its number in digits and words and how to use it', async () => {
    const text = printedText(await markerSheetPdf({ ids: [21], paper: 'a4', sideMm: 120, created }));
    expect(text).toContain('Marker 21 — twenty-one');
    for (const word of ['100 %', '120 mm', 'ladder', 'tape', 'rim']) expect(text).toContain(word);
  });

  it('gives each id a page and the same bytes for the same date', async () => {
    const options = { ids: [4, 5, 6], paper: 'letter', sideMm: 120, created } as const;
    const first = await markerSheetPdf(options);
    expect(Buffer.from(first).equals(Buffer.from(await markerSheetPdf(options)))).toBe(true);
    if (canPrint) expect(pageCount(first)).toBe(3);
  });

  it('asks viewers not to scale and carries title and language', async () => {
    const pdf = await markerSheetPdf({ ids: [1], paper: 'a4', sideMm: 150, created });
    const bytes = Buffer.from(pdf).toString('latin1');
    expect(bytes).toMatch(/\/PrintScaling \/None/);
    expect(bytes).toMatch(/\/Lang \(en\)/);
    expect(bytes).toMatch(/\/DisplayDocTitle true/);
    expect(bytes).not.toContain('/UserUnit');
    if (canPrint)
      expect(documentFacts(pdf)).toMatch(/Title: +Marker sheets 1, black square 150 mm\n[\s\S]*Tagged: +yes/);
  });

  it('refuses a square whose white rim would not fit, and ids outside the family', async () => {
    expect(largestMarkerSideMm('a4')).toBeGreaterThan(150);
    await expect(markerSheetPdf({ ids: [1], paper: 'a4', sideMm: 160 })).rejects.toThrow(/160/);
    await expect(markerSheetPdf({ ids: [587], paper: 'a4', sideMm: 120 })).rejects.toThrow(/587/);
    await expect(markerSheetPdf({ ids: [], paper: 'a4', sideMm: 120 })).rejects.toThrow();
  });
});

function isBlack(page: PrintedPage, x: number, y: number): boolean {
  return page.grey[y * page.widthPx + x] < 128;
}

/** Extent of the largest black block: the row and column through its upper border module, and the white around it. */
function blackSquare(page: PrintedPage): { widthMm: number; heightMm: number; rimMm: number } {
  const middle = Math.floor(page.widthPx / 2);
  let top = Math.round(20 / page.mmPerPx);
  while (!isBlack(page, middle, top)) top++;
  const row = top + Math.round(5 / page.mmPerPx);
  let left = middle;
  while (isBlack(page, left - 1, row)) left--;
  let right = middle;
  while (isBlack(page, right + 1, row)) right++;
  const column = left + Math.round(5 / page.mmPerPx);
  let bottom = row;
  while (isBlack(page, column, bottom + 1)) bottom++;
  const whiteLeft = whiteRun((i) => isBlack(page, left - 1 - i, row), left);
  const whiteTop = whiteRun((i) => rowHasBlack(page, top - 1 - i, left, right), top);
  const whiteBelow = whiteRun((i) => rowHasBlack(page, bottom + 1 + i, left, right), page.heightPx - bottom - 1);
  return {
    widthMm: (right - left + 1) * page.mmPerPx,
    heightMm: (bottom - top + 1) * page.mmPerPx,
    rimMm: Math.min(whiteLeft, whiteTop, whiteBelow) * page.mmPerPx,
  };
}

function whiteRun(blackAt: (i: number) => boolean, most: number): number {
  let i = 0;
  while (i < most && !blackAt(i)) i++;
  return i;
}

function rowHasBlack(page: PrintedPage, y: number, from: number, to: number): boolean {
  for (let x = from; x <= to; x++) if (isBlack(page, x, y)) return true;
  return false;
}

/** Lengths of the level black lines between two lengths, from the top, each counted once. */
function longLevelLines(page: PrintedPage, leastMm: number, mostMm: number): number[] {
  const found: number[] = [];
  let lastRow = -10;
  for (let y = 0; y < page.heightPx; y++) {
    let start = 0;
    for (let x = 0; x <= page.widthPx; x++) {
      if (x < page.widthPx && isBlack(page, x, y)) continue;
      const lengthMm = (x - start) * page.mmPerPx;
      if (lengthMm > leastMm && lengthMm < mostMm && y - lastRow > 2) {
        found.push(lengthMm);
      }
      if (lengthMm > leastMm && lengthMm < mostMm) lastRow = y;
      start = x + 1;
    }
  }
  return found;
}

/** Debian's OpenCV reads the family with its own code table. @returns the ids found on each page */
function idsReadByOpenCv(pages: readonly PrintedPage[]): number[][] {
  const folder = mkdtempSync(join(tmpdir(), 'gapwright-marker-'));
  try {
    const files = pages.map((page, i) => {
      const file = join(folder, `${i}.pgm`);
      writeFileSync(file, Buffer.concat([Buffer.from(`P5 ${page.widthPx} ${page.heightPx} 255\n`), page.grey]));
      return file;
    });
    const script = [
      'import cv2, json, sys',
      'old = hasattr(cv2.aruco, "Dictionary_get")',
      'get = cv2.aruco.Dictionary_get if old else cv2.aruco.getPredefinedDictionary',
      'table = get(cv2.aruco.DICT_APRILTAG_36h11)',
      'def ids(file):',
      '    grey = cv2.imread(file, 0)',
      '    found = cv2.aruco.detectMarkers(grey, table) if old else cv2.aruco.ArucoDetector(table).detectMarkers(grey)',
      '    return [] if found[1] is None else [int(i[0]) for i in found[1]]',
      'print(json.dumps([ids(file) for file in sys.argv[1:]]))',
    ].join('\n');
    const run = spawnSync('/usr/bin/python3', ['-c', script, ...files], { encoding: 'utf8' });
    return JSON.parse(run.stdout);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
