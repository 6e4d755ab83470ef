import type { Sheet } from './sheet.js';

/** Lengths of the two bars, millimetres: 100 mm and 4 in. */
const checkBarsMm = { metric: 100, inch: 101.6 } as const;

/** Height that both bars take, millimetres. */
export const checkBarsHeightMm = 13;

/**
 * Draws the 100 mm bar and below it the 4 in bar, starting at x, so that a reader can see whether the printer kept the
 * size. The bars are measured between the outer faces of their end strokes.
 */
export function drawCheckBars(sheet: Sheet, x: number, y: number): void {
  sheet.figure('Two check bars to measure after printing: one of 100 mm, one of 4 inches.', () => {
    drawBar(sheet, x, y, checkBarsMm.metric, '100 mm', 10);
    drawBar(sheet, x, y + 7, checkBarsMm.inch, '4 in', 25.4);
  });
}

function drawBar(sheet: Sheet, x: number, y: number, lengthMm: number, label: string, tickMm: number): void {
  const end = 0.35;
  sheet.rectangle(x, y, end, 5, 0);
  sheet.rectangle(x + lengthMm - end, y, end, 5, 0);
  sheet.rectangle(x, y + 3.6, lengthMm, 0.35, 0);
  for (let at = tickMm; at < lengthMm - 1; at += tickMm) sheet.rectangle(x + at - 0.1, y + 2.4, 0.2, 1.2, 0);
  const style = { sizePt: 8.5, bold: true, role: null } as const;
  sheet.text(label, x + lengthMm / 2 - 15, y - 1, 30, { ...style, align: 'center' });
}
