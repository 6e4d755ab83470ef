import { assert } from '../base/assert.js';
import { checkBarWords } from '../contract/print-words.js';
import { checkBarsHeightMm, drawCheckBars } from './check-bars.js';
import { markerPattern, modulesPerSide } from './marker-pattern.js';
import { numberInWords } from './number-words.js';
import { marginMm, type Paper, paperSizes } from './paper.js';
import { Sheet } from './sheet.js';

export interface MarkerSheetOptions {
  /** One page for each id, in this order. */
  readonly ids: readonly number[];
  readonly paper: Paper;
  /** Outer side of the black square, millimetres. */
  readonly sideMm: number;
  readonly created?: Date;
}

/** Smallest side that can be read across a table at all, millimetres (common practice, no source). */
export const smallestMarkerSideMm = 20;

/** Largest side whose white rim of one module still lies inside the printable width, millimetres. */
export function largestMarkerSideMm(paper: Paper): number {
  return ((paperSizes[paper].widthMm - 2 * marginMm) * modulesPerSide) / (modulesPerSide + 2);
}

/**
 * The reference sheets to print: on each page one square marker of the open AprilTag family 36h11 with a black border
 * of one module and a white rim of one module or more, its id in digits and words, the check bars and how to use it.
 * True size. The callers check ids and side first; a wrong one throws.
 *
 * @example await markerSheetPdf({ ids: [0, 1, 2], paper: 'letter', sideMm: 120 })
 */
export async function markerSheetPdf(options: MarkerSheetOptions): Promise<Uint8Array> {
  const { ids, paper, sideMm } = options;
  assert(ids.length > 0, 'a marker sheet needs an id');
  assert(sideMm >= smallestMarkerSideMm && sideMm <= largestMarkerSideMm(paper), 'marker side does not fit', sideMm);
  const sheet = new Sheet({
    paper,
    title: `Marker sheets ${listIds(ids)}, black square ${plain(sideMm)} mm`,
    subject: 'Reference markers to lay on the table while it is photographed. Print at 100 %.',
    created: options.created ?? new Date(),
  });
  for (const id of ids) drawPage(sheet, id, sideMm);
  return sheet.finish();
}

function drawPage(sheet: Sheet, id: number, sideMm: number): void {
  sheet.addPage();
  const module = sideMm / modulesPerSide;
  const left = 14;
  const width = sheet.widthMm - 2 * left;
  sheet.line(`Marker ${id} — ${numberInWords(id)}`, left, marginMm, width, { sizePt: 15, bold: true, role: 'H1' });
  sheet.line('Print at 100 %', left, marginMm + 1.6, width, { sizePt: 10, bold: true, align: 'right' });

  const squareTop = marginMm + 8.5 + module;
  const squareLeft = (sheet.widthMm - sideMm) / 2;
  sheet.figure(`Square marker ${id} of the AprilTag family 36h11, ${plain(sideMm)} mm wide.`, () =>
    drawMarker(sheet, id, squareLeft, squareTop, sideMm),
  );

  const below = squareTop + sideMm + module + 1;
  drawCheckBars(sheet, left, below + 1);
  const beside = left + 105;
  const besideHeight = sheet.text(barAdvice(sideMm), beside, below - 0.5, sheet.widthMm - beside - left, { sizePt: 9 });
  drawAdvice(sheet, left, below + Math.max(checkBarsHeightMm, besideHeight) + 3, width);
}

/** Neighbouring black modules of a row are one rectangle, so that no hairline shows between them. */
function drawMarker(sheet: Sheet, id: number, left: number, top: number, sideMm: number): void {
  const module = sideMm / modulesPerSide;
  const pattern = markerPattern(id);
  sheet.rectangle(left, top, sideMm, sideMm, 0);
  pattern.forEach((row, y) => {
    let x = 0;
    while (x < modulesPerSide) {
      let end = x;
      while (end < modulesPerSide && !row[end]) end++;
      if (end > x) sheet.rectangle(left + x * module, top + y * module, (end - x) * module, module, 1);
      x = Math.max(end, x + 1);
    }
  });
}

function barAdvice(sideMm: number): string {
  return `${checkBarWords} The black square must be ${plain(sideMm)} mm each way; if yours is not, type in what you measure.`;
}

const advice: readonly (readonly [string, string])[] = [
  [
    'Flat',
    'Lay the sheet on the bare table top, tape down all four corners. A lifted or curled corner spoils lengths.',
  ],
  [
    'Whole',
    'Keep the sheet uncut and all of it in the picture: nothing on the black square or its white rim, no glare.',
  ],
  [
    'Several',
    'Spread several different numbers out near the table’s ends and corners: far better than one in the middle.',
  ],
  ['Still', 'Do not move sheets or track between photos of one table. Use each number only once.'],
  [
    'Climbing',
    'A photo from high up is better, a fall is not: stand on a sound step ladder on firm floor, both feet on a step, one hand free to hold; not on a chair or on the table. Follow the ladder’s own instructions.',
  ],
];

function drawAdvice(sheet: Sheet, left: number, top: number, width: number): void {
  let y = top;
  sheet.within('L', () => {
    for (const [word, sentence] of advice) {
      sheet.within('LI', () => {
        sheet.line(word, left, y, 18, { sizePt: 9.5, bold: true, role: 'Lbl' });
        y += sheet.text(sentence, left + 18, y, width - 18, { sizePt: 9.5, role: 'LBody' }) + 0.8;
      });
    }
  });
}

function listIds(ids: readonly number[]): string {
  const first = ids[0];
  const inRow = ids.length > 2 && ids.every((id, i) => id === first + i);
  return inRow ? `${first} to ${ids.at(-1)}` : ids.join(', ');
}

function plain(mm: number): string {
  return String(Math.round(mm * 100) / 100);
}
