import type { Coverage, CoverageCell } from '../contract/coverage.js';
import { coverageAdvice, coverageLegend, coverageStep, otherAdvice, placeWords } from '../contract/coverage-words.js';
import type { Report } from '../contract/report.js';
import { halfWidth95 } from '../units/estimate.js';
import type { LengthStyle } from '../units/format-length.js';
import { writeCsv } from './csv.js';
import type { Drawing, DrawingPoint, Shape } from './drawing.js';
import { extentOfDrawing } from './drawing.js';
import { drawingSvg } from './drawing-svg.js';
import { type LayoutDrawingOptions, layoutDrawing } from './layout-drawing.js';

/** Blue to orange: told apart with every kind of colour sight (Okabe and Ito, Color Universal Design, 2008). */
const tints = ['#0072b2', '#56b4e9', '#f0e442', '#d55e00'] as const;
const unseenTint = '#7a7a7a';
const typeMm = 20;
/** About so many letters fit under a table. */
const shortestLine = 60;

const noCoverage =
  'This measurement says nothing of where it is sure: measure again, with the table edge in the picture.';

interface Tinted {
  readonly from: DrawingPoint;
  readonly widthMm: number;
  readonly heightMm: number;
  readonly tint: string;
}

/**
 * Where on the table a clearance is good to what, as SVG at true size: cells tinted in steps under the measured layout,
 * below it what each tint means and what would help most.
 */
export function coverageSvg(report: Report, options: LayoutDrawingOptions): string {
  const layout = layoutDrawing(report, null, options);
  const { coverage } = report;
  const extent = extentOfDrawing(layout);
  const letters = Math.max(shortestLine, Math.floor((extent.maxX - extent.minX) / (typeMm * 0.75)));
  const lines: Shape[] = [];
  const swatches: Tinted[] = [];
  let y = extent.minY - 2 * typeMm;
  const write = (text: string, indentMm = 0): void => {
    for (const line of wrapped(text, letters)) {
      lines.push({
        kind: 'text',
        layer: 'labels',
        at: [extent.minX + indentMm, y],
        heightMm: typeMm,
        text: line,
        middle: false,
      });
      y -= 1.8 * typeMm;
    }
  };
  if (coverage) {
    write('A clearance read here, from rail to table edge, is');
    for (const { text, tint } of legendOf(coverage, options.style)) {
      swatches.push({ from: [extent.minX, y], widthMm: 2 * typeMm, heightMm: typeMm, tint });
      write(text, 3 * typeMm);
    }
    write(coverageAdvice(coverage, options.style));
    const other = otherAdvice(coverage, options.style);
    if (other) write(other);
  } else write(noCoverage);
  const drawing: Drawing = { ...layout, title: 'How sure, and where', shapes: [...layout.shapes, ...lines] };
  const under = [...(coverage ? tintedCells(coverage, options.style) : []), ...swatches];
  return drawingSvg(drawing, (onPage) => under.map((t) => tintedSvg(t, onPage)));
}

function legendOf(coverage: Coverage, style: LengthStyle): { text: string; tint: string }[] {
  const steps = coverageLegend(style).map((text, i) => ({ text, tint: tints[i] }));
  const unseen = coverage.cells.some((c) => typeof c === 'string');
  return unseen ? [...steps, { text: 'not seen', tint: unseenTint }] : steps;
}

/** Neighbours of one tint in a row are one rectangle. */
function tintedCells(coverage: Coverage, style: LengthStyle): Tinted[] {
  const { cellMm, origin, columns, rows, cells } = coverage;
  const out: Tinted[] = [];
  for (let row = 0; row < rows; row++)
    for (let column = 0; column < columns; ) {
      const tint = tintOf(cells[row * columns + column], style);
      let end = column + 1;
      while (end < columns && tintOf(cells[row * columns + end], style) === tint) end++;
      if (tint !== null) {
        const from: DrawingPoint = [origin[0] + column * cellMm[0], origin[1] + row * cellMm[1]];
        out.push({ from, widthMm: (end - column) * cellMm[0], heightMm: cellMm[1], tint });
      }
      column = end;
    }
  return out;
}

function tintOf(cell: CoverageCell, style: LengthStyle): string | null {
  if (cell === null) return null;
  return typeof cell === 'string' ? unseenTint : tints[coverageStep(cell, style)];
}

function tintedSvg({ from, widthMm, heightMm, tint }: Tinted, onPage: (p: DrawingPoint) => DrawingPoint): string {
  const [x, y] = onPage([from[0], from[1] + heightMm]);
  const place = [x, y, widthMm, heightMm].map((v) => String(Number(v.toFixed(2))));
  return `<rect x="${place[0]}" y="${place[1]}" width="${place[2]}" height="${place[3]}" fill="${tint}" fill-opacity="0.55"/>`;
}

function wrapped(text: string, letters: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(' ')) {
    const last = lines[lines.length - 1];
    if (last !== undefined && last.length + 1 + word.length <= letters) lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  return lines;
}

/** The same in numbers: a row for each cell of the table top, its middle in the table frame; then what would help most. */
export function coverageCsv(report: Report): string {
  const { coverage } = report;
  const head = ['what', 'x_mm', 'y_mm', 'plus_minus_mm_95', 'note'];
  if (!coverage) return writeCsv([head, ['none', null, null, null, noCoverage]]);
  const { cellMm, origin, columns } = coverage;
  const cells = coverage.cells.flatMap((cell, i) => {
    if (cell === null) return [];
    const x = origin[0] + ((i % columns) + 0.5) * cellMm[0];
    const y = origin[1] + (Math.floor(i / columns) + 0.5) * cellMm[1];
    if (typeof cell === 'string') return [['clearance', x, y, null, cell.replace('-', ' ')]];
    return [['clearance', x, y, halfOf(cell), '']];
  });
  const { leastSure, helps } = coverage;
  const worst = leastSure
    ? [
        [
          `least sure ${leastSure.what}`,
          ...(leastSure.at ?? [null, null]),
          halfOf(leastSure.u),
          placeWords(leastSure.near),
        ],
      ]
    : [];
  const more = helps.map((h) => [`one more ${h.kind}`, h.at[0], h.at[1], halfOf(h.thenU), placeWords(h.near)]);
  return writeCsv([head, ...worst, ...more, ...cells]);
}

function halfOf(u: number): number {
  return Number(halfWidth95({ value: 0, u }).toFixed(3));
}
