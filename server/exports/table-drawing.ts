import type { PageFlow } from './page-flow.js';
import type { Sheet, TextStyle } from './sheet.js';

export interface Column {
  readonly head: string;
  /** Share of the width. */
  readonly share: number;
  readonly style?: TextStyle;
}

/** One cell: lines of text, the first in the column's style, the others smaller; or an empty box to tick. */
export type Cell = readonly string[] | 'tick';

const cellPaddingMm = 1;
const headStyle: TextStyle = { sizePt: 8.5, bold: true, role: 'TH' };
const secondStyle: TextStyle = { sizePt: 8.5, grey: 0.2, role: null };

/** Draws a ruled table; rows stay whole, and the head is repeated on each page. */
export function drawTable(flow: PageFlow, columns: readonly Column[], rows: readonly (readonly Cell[])[]): void {
  const { sheet } = flow;
  const total = columns.reduce((sum, c) => sum + c.share, 0);
  const widths = columns.map((c) => (c.share / total) * flow.width);
  const heights = rows.map((row) => Math.max(...row.map((cell, i) => cellHeight(sheet, cell, columns[i], widths[i]))));
  flow.need(8 + (heights[0] ?? 0));
  sheet.within('Table', () => {
    drawHead(flow, columns, widths);
    rows.forEach((row, r) => {
      if (flow.need(heights[r] + 1)) drawHead(flow, columns, widths);
      sheet.within('TR', () => {
        let x = flow.left;
        row.forEach((cell, i) => {
          drawCell(sheet, cell, x, flow.y + 0.6, columns[i], widths[i]);
          x += widths[i];
        });
      });
      flow.y += heights[r] + 1;
      rule(flow, 0.1, 0.55);
    });
  });
  flow.y += 1.5;
}

function drawHead(flow: PageFlow, columns: readonly Column[], widths: readonly number[]): void {
  const { sheet } = flow;
  const height = Math.max(...columns.map((c, i) => sheet.textHeight(c.head, widths[i] - cellPaddingMm, headStyle)));
  sheet.within('TR', () => {
    let x = flow.left;
    columns.forEach((column, i) => {
      if (column.head !== '') sheet.text(column.head, x, flow.y, widths[i] - cellPaddingMm, headStyle);
      x += widths[i];
    });
  });
  flow.y += height + 0.8;
  rule(flow, 0.35, 0);
}

function rule(flow: PageFlow, widthMm: number, grey: number): void {
  flow.sheet.stroke(
    [
      [flow.left, flow.y],
      [flow.left + flow.width, flow.y],
    ],
    { widthMm, grey },
  );
}

function cellHeight(sheet: Sheet, cell: Cell, column: Column, widthMm: number): number {
  if (cell === 'tick') return 5;
  return cell.reduce(
    (sum, line, i) => sum + sheet.textHeight(line, widthMm - cellPaddingMm, i === 0 ? column.style : secondStyle),
    0,
  );
}

function drawCell(sheet: Sheet, cell: Cell, x: number, y: number, column: Column, widthMm: number): void {
  if (cell === 'tick') {
    sheet.rectangle(x + 0.3, y + 0.4, 3.6, 3.6, null, { widthMm: 0.25 });
    return;
  }
  let down = y;
  sheet.within('TD', () => {
    cell.forEach((line, i) => {
      const style = { ...(i === 0 ? column.style : secondStyle), role: 'P' };
      down += sheet.text(line, x, down, widthMm - cellPaddingMm, style);
    });
  });
}
