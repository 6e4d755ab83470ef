import PDFDocument from 'pdfkit';
import { unbroken } from '../units/unbroken.js';
import { loadFonts } from './fonts.js';
import { type Paper, paperSizes, ptPerMm } from './paper.js';

export interface SheetOptions {
  readonly paper: Paper;
  readonly title: string;
  readonly subject: string;
  /** Stands in the file's properties; the same date gives the same bytes. */
  readonly created: Date;
}

export interface TextStyle {
  readonly sizePt?: number;
  readonly bold?: boolean;
  readonly grey?: number;
  readonly align?: 'left' | 'center' | 'right';
  /** Structure role for screen readers; null marks it as decoration. */
  readonly role?: string | null;
}

export interface LineStyle {
  readonly widthMm?: number;
  /** 0 black … 1 white. */
  readonly grey?: number;
  readonly dashMm?: number;
}

const usualSizePt = 9.5;

type StructureElement = PDFKit.PDFStructureElement;

/**
 * One printed document, drawn in millimetres from the upper left corner of the page, y down, true size: pages have no
 * scale of their own and the file asks viewers not to scale (/PrintScaling /None, ISO 32000-1 table 150). Text is
 * tagged for screen readers, fonts are embedded.
 */
export class Sheet {
  readonly #doc: PDFKit.PDFDocument;
  readonly #chunks: Buffer[] = [];
  readonly #paper: Paper;
  readonly #root: StructureElement;
  readonly #parents: StructureElement[] = [];
  #artifactDepth = 0;
  pageCount = 0;
  widthMm = 0;
  heightMm = 0;

  constructor(options: SheetOptions) {
    this.#paper = options.paper;
    this.#doc = new PDFDocument({
      autoFirstPage: false,
      bufferPages: true,
      pdfVersion: '1.7',
      tagged: true,
      lang: 'en',
      displayTitle: true,
      info: { Title: options.title, Subject: options.subject, Creator: 'Gapwright', CreationDate: options.created },
    });
    askForTrueSize(this.#doc);
    const fonts = loadFonts();
    this.#doc.registerFont('regular', fonts.regular as Buffer);
    this.#doc.registerFont('bold', fonts.bold as Buffer);
    this.#doc.on('data', (chunk: Buffer) => this.#chunks.push(chunk));
    this.#root = this.#doc.struct('Document');
    this.#doc.addStructure(this.#root);
  }

  /** Starts a page; `lying` turns the longer side level. */
  addPage(lying = false): void {
    const size = paperSizes[this.#paper];
    this.widthMm = lying ? size.heightMm : size.widthMm;
    this.heightMm = lying ? size.widthMm : size.heightMm;
    this.#doc.addPage({ size: [this.widthMm * ptPerMm, this.heightMm * ptPerMm], margin: 0 });
    delete (this.#doc.page as unknown as { dictionary: { data: { UserUnit?: number } } }).dictionary.data.UserUnit;
    this.pageCount++;
  }

  /** Returns to an earlier page (0 is the first) to draw its foot once the number of pages is known. */
  turnTo(page: number): void {
    this.#doc.switchToPage(page);
    this.widthMm = this.#doc.page.width / ptPerMm;
    this.heightMm = this.#doc.page.height / ptPerMm;
  }

  /** Draws text with its upper left corner at (x, y), wrapped at `widthMm`. @returns its height, millimetres */
  text(text: string, x: number, y: number, widthMm: number, style: TextStyle = {}): number {
    const shown = this.#printable(text, style);
    const height = this.textHeight(shown, widthMm, style);
    const role = style.role === undefined ? 'P' : style.role;
    this.#tagged(role, () => {
      this.#setFont(style)
        .fillColor(grey(style.grey ?? 0))
        .text(shown, x * ptPerMm, y * ptPerMm, {
          width: widthMm * ptPerMm,
          align: style.align ?? 'left',
          lineGap: lineGapPt(style),
          height: this.heightMm * ptPerMm * 2,
        });
    });
    return height;
  }

  /** Like `text` on one line, shortened with … where it is wider than `widthMm`. */
  line(text: string, x: number, y: number, widthMm: number, style: TextStyle = {}): number {
    return this.text(this.shorten(text, widthMm, style), x, y, widthMm + 0.5, style);
  }

  textHeight(text: string, widthMm: number, style: TextStyle = {}): number {
    return (
      this.#setFont(style).heightOfString(this.#printable(text, style), {
        width: widthMm * ptPerMm,
        lineGap: lineGapPt(style),
      }) / ptPerMm
    );
  }

  textWidth(text: string, style: TextStyle = {}): number {
    return this.#setFont(style).widthOfString(this.#printable(text, style)) / ptPerMm;
  }

  shorten(text: string, widthMm: number, style: TextStyle = {}): string {
    if (this.textWidth(text, style) <= widthMm) return text;
    const letters = [...text];
    let fits = 0;
    let tooMany = letters.length;
    while (tooMany - fits > 1) {
      const middle = Math.floor((fits + tooMany) / 2);
      if (this.textWidth(`${letters.slice(0, middle).join('')}…`, style) <= widthMm) fits = middle;
      else tooMany = middle;
    }
    return `${letters.slice(0, fits).join('').trimEnd()}…`;
  }

  stroke(points: readonly (readonly [number, number])[], style: LineStyle = {}, closed = false): void {
    this.#drawn(() => {
      const [first, ...rest] = points;
      if (first === undefined) return;
      this.#doc.moveTo(first[0] * ptPerMm, first[1] * ptPerMm);
      for (const [x, y] of rest) this.#doc.lineTo(x * ptPerMm, y * ptPerMm);
      if (closed) this.#doc.closePath();
      this.#setLine(style);
      this.#doc.stroke();
    });
  }

  rectangle(x: number, y: number, w: number, h: number, fill: number | null, edge: LineStyle | null = null): void {
    this.#drawn(() => {
      if (fill !== null) {
        this.#doc.rect(x * ptPerMm, y * ptPerMm, w * ptPerMm, h * ptPerMm).fill(grey(fill));
      }
      if (edge !== null) {
        this.#doc.rect(x * ptPerMm, y * ptPerMm, w * ptPerMm, h * ptPerMm);
        this.#setLine(edge);
        this.#doc.stroke();
      }
    });
  }

  circle(x: number, y: number, radius: number, fill: number | null, edge: LineStyle | null = null): void {
    this.#drawn(() => {
      if (fill !== null) this.#doc.circle(x * ptPerMm, y * ptPerMm, radius * ptPerMm).fill(grey(fill));
      if (edge !== null) {
        this.#doc.circle(x * ptPerMm, y * ptPerMm, radius * ptPerMm);
        this.#setLine(edge);
        this.#doc.stroke();
      }
    });
  }

  /** Everything drawn inside belongs to one structure element, such as Table, TR or L. */
  within(role: string, draw: () => void): void {
    const element = this.#doc.struct(role);
    this.#parent().add(element);
    this.#parents.push(element);
    draw();
    this.#parents.pop();
    element.end();
  }

  /** A drawing as one figure with its description in words; the text in it is not read out piece by piece. */
  figure(alt: string, draw: () => void): void {
    const element = this.#doc.struct('Figure', { alt }, () => {
      this.#artifactDepth++;
      draw();
      this.#artifactDepth--;
    });
    this.#parent().add(element);
  }

  /** @returns the finished file */
  async finish(): Promise<Uint8Array> {
    this.#root.end();
    const ended = new Promise<void>((resolve) => this.#doc.on('end', () => resolve()));
    this.#doc.end();
    await ended;
    return new Uint8Array(Buffer.concat(this.#chunks));
  }

  #parent(): StructureElement {
    return this.#parents.at(-1) ?? this.#root;
  }

  #tagged(role: string | null, draw: () => void): void {
    if (role === null) this.#drawn(draw);
    else if (this.#artifactDepth > 0) draw();
    else this.#parent().add(this.#doc.struct(role, {}, draw));
  }

  #drawn(draw: () => void): void {
    if (this.#artifactDepth > 0) {
      draw();
      return;
    }
    this.#doc.markContent('Artifact', { type: 'Layout' });
    draw();
    this.#doc.endMarkedContent();
  }

  #setFont(style: TextStyle): PDFKit.PDFDocument {
    return this.#doc.font(style.bold ? 'bold' : 'regular').fontSize(style.sizePt ?? usualSizePt);
  }

  #setLine(style: LineStyle): void {
    this.#doc.lineWidth((style.widthMm ?? 0.25) * ptPerMm).strokeColor(grey(style.grey ?? 0));
    if (style.dashMm === undefined) this.#doc.undash();
    else this.#doc.dash(style.dashMm * ptPerMm, {});
  }

  /** Numbers keep their units on one line. Characters that the typeface lacks would print as nothing or as a box without meaning: they become □ each. */
  #printable(text: string, style: TextStyle): string {
    this.#setFont(style);
    const font = (this.#doc as unknown as { _font: { font: { hasGlyphForCodePoint(code: number): boolean } } })._font
      .font;
    let shown = '';
    const bound = unbroken(text);
    for (const letter of bound.normalize('NFC').replace(/[\p{Cc}\p{Cf}]+/gu, (run) => (run === '\n' ? run : ' '))) {
      shown += letter === '\n' || font.hasGlyphForCodePoint(letter.codePointAt(0) as number) ? letter : '□';
    }
    return shown;
  }
}

/** The typeface asks for lines 1.26 times its size apart; 1.17 reads as well and saves a page now and then. */
function lineGapPt(style: TextStyle): number {
  return -0.09 * (style.sizePt ?? usualSizePt);
}

function grey(level: number): string {
  const part = Math.round(level * 255)
    .toString(16)
    .padStart(2, '0');
  return `#${part}${part}${part}`;
}

/** pdfkit has no option for this entry, so it is written into the catalogue that pdfkit keeps. */
function askForTrueSize(doc: PDFKit.PDFDocument): void {
  const catalogue = (doc as unknown as { _root: { data: { ViewerPreferences: { data: Record<string, unknown> } } } })
    ._root;
  catalogue.data.ViewerPreferences.data.PrintScaling = 'None';
}
