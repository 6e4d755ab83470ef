import { checkBarsHeightMm, drawCheckBars } from './check-bars.js';
import { marginMm } from './paper.js';
import type { Sheet, TextStyle } from './sheet.js';

const sideMarginMm = 12;
const footHeightMm = checkBarsHeightMm + 2;

/** Fills pages from the top: whoever draws asks for room first and moves `y` down by what was used. */
export class PageFlow {
  readonly sheet: Sheet;
  /** Stands at the head of each page after the first. */
  readonly #head: string;
  readonly left = sideMarginMm;
  y = 0;

  constructor(sheet: Sheet, head: string) {
    this.sheet = sheet;
    this.#head = head;
  }

  get width(): number {
    return this.sheet.widthMm - 2 * sideMarginMm;
  }

  /** Lowest place that may be drawn on; the foot lies below. */
  get bottom(): number {
    return this.sheet.heightMm - marginMm - footHeightMm;
  }

  newPage(lying = false): void {
    this.sheet.addPage(lying);
    this.y = marginMm;
    if (this.sheet.pageCount > 1) {
      this.sheet.line(this.#head, this.left, this.y, this.width, { sizePt: 9, grey: 0.3, role: null });
      this.y += 6;
    }
  }

  /** The first line of the document: what it is, of which table, and the day. */
  title(what: string, tableName: string, created: Date): void {
    const { sheet } = this;
    const heading = { sizePt: 16, bold: true, role: 'H1' } as const;
    const width = sheet.textWidth(what, heading);
    sheet.text(what, this.left, this.y, width + 1, heading);
    const date = created.toISOString().slice(0, 10);
    const dateWidth = sheet.textWidth(date) + 3;
    const room = this.width - width - 4 - dateWidth;
    sheet.line(tableName, this.left + width + 4, this.y + 1.5, room, { sizePt: 11 });
    sheet.line(date, this.left + this.width - dateWidth, this.y + 2, dateWidth, { align: 'right' });
    this.y += 8.5;
  }

  /** Starts a new page when less than `heightMm` is left. @returns whether it did */
  need(heightMm: number): boolean {
    if (this.y + heightMm <= this.bottom) return false;
    this.newPage(this.sheet.widthMm > this.sheet.heightMm);
    return true;
  }

  /** A heading over what follows; keeps at least `withMm` of it on the same page. */
  heading(text: string, withMm: number): void {
    this.need(7 + withMm);
    this.y += 1.5;
    this.y += this.sheet.text(text, this.left, this.y, this.width, { sizePt: 11.5, bold: true, role: 'H2' }) + 0.8;
  }

  /** A paragraph over the whole width; broken over pages only between paragraphs. */
  paragraph(text: string, style: TextStyle = {}): void {
    const height = this.sheet.textHeight(text, this.width, style);
    this.need(height);
    this.sheet.text(text, this.left, this.y, this.width, style);
    this.y += height + 1;
  }
}

/**
 * Draws the foot of every page when all are made: check bars, what to do with them, and the page number.
 * @param about stands beside the number: table name and date
 */
export function drawFeet(sheet: Sheet, about: string): void {
  for (let page = 0; page < sheet.pageCount; page++) {
    sheet.turnTo(page);
    const top = sheet.heightMm - marginMm - checkBarsHeightMm;
    const width = sheet.widthMm - 2 * sideMarginMm;
    sheet.stroke(
      [
        [sideMarginMm, top - 1.5],
        [sideMarginMm + width, top - 1.5],
      ],
      { widthMm: 0.15, grey: 0.5 },
    );
    drawCheckBars(sheet, sideMarginMm, top + 0.5);
    const beside = sideMarginMm + 106;
    const room = width - 106;
    sheet.text(
      'Print at 100 %. Measure both bars, end to end, before you trust a length on this page.',
      beside,
      top - 0.6,
      room,
      {
        sizePt: 8.5,
      },
    );
    const number = `Page ${page + 1} of ${sheet.pageCount}`;
    sheet.line(about, beside, top + 8.2, room - 24, { sizePt: 8, grey: 0.3, role: null });
    sheet.line(number, beside + room - 24, top + 8.2, 24, { sizePt: 8, grey: 0.3, align: 'right', role: null });
  }
}
