/** Papers that the sheets are made for. */
export type Paper = 'letter' | 'a4';

export interface PaperSize {
  /** Shorter side, millimetres. */
  readonly widthMm: number;
  /** Longer side, millimetres. */
  readonly heightMm: number;
  readonly name: string;
}

/** ANSI Letter is 8 1/2 × 11 in exactly; A4 is 210 × 297 mm (ISO 216). */
export const paperSizes: Record<Paper, PaperSize> = {
  letter: { widthMm: 215.9, heightMm: 279.4, name: 'Letter' },
  a4: { widthMm: 210, heightMm: 297, name: 'A4' },
};

/** Points of PDF in a millimetre: 1 pt = 1/72 in (ISO 32000-1, 8.3.2.3). */
export const ptPerMm = 72 / 25.4;

/** Nothing is printed closer to the paper's edge than this, millimetres: home printers leave 4 to 6 mm blank (common practice, no source). */
export const marginMm = 8;
