import type { Coverage, CoverageCell } from '../../server/contract/coverage.js';
import { coverageStep } from '../../server/contract/coverage-words.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import type { Mark } from './marks.js';
import type { PictureFrame } from './picture-frame.js';
import type { Point } from './view.js';

/** The tint of what no photo shows; the steps before it are those of `coverageStep`. */
export const unseenTint = 4;
/** A lens bends straight lines: so many cells of a row are drawn as one four-cornered patch at most. */
const mostTogether = 3;

/** The cells of the coverage picture on the table top, one mark for each tint. */
export function coverageMarks(coverage: Coverage, frame: PictureFrame, style: Pick<LengthStyle, 'unit'>): Mark[] {
  const { cellMm, origin, columns, rows, cells } = coverage;
  const patches = new Map<number, Point[][]>();
  for (let row = 0; row < rows; row++)
    for (let column = 0; column < columns; ) {
      const tint = tintOf(cells[row * columns + column], style);
      let end = column + 1;
      while (end < columns && end - column < mostTogether && tintOf(cells[row * columns + end], style) === tint) end++;
      if (tint !== null) {
        const [left, right] = [origin[0] + column * cellMm[0], origin[0] + end * cellMm[0]];
        const [low, high] = [origin[1] + row * cellMm[1], origin[1] + (row + 1) * cellMm[1]];
        const patch = patchOn(frame, left, right, low, high);
        if (patch) patches.set(tint, [...(patches.get(tint) ?? []), patch]);
      }
      column = end;
    }
  return [...patches].map(([tint, lines]) => ({
    key: `coverage ${tint}`,
    layer: 'coverage',
    thing: null,
    lines,
    tint,
  }));
}

/** Half the side of the square, or the radius of the circle, that shows a place, millimetres. */
const placeMm = 75;

/** Where one more marker would lie, a square, and below which place the phone would be held, a circle; both dashed. */
export function helpMarks(coverage: Coverage, frame: PictureFrame): Mark[] {
  return coverage.helps.flatMap((help, i): Mark[] => {
    const corners = help.kind === 'marker' ? 4 : 24;
    const reach = help.kind === 'marker' ? placeMm * Math.SQRT2 : placeMm;
    const ring = Array.from({ length: corners + 1 }, (_, k) => {
      const angle = ((k + 0.5) / corners) * 2 * Math.PI;
      return frame.pictureFromTable(help.at[0] + reach * Math.cos(angle), help.at[1] + reach * Math.sin(angle), 0);
    });
    if (!ring.every((p) => p !== null)) return [];
    return [{ key: `help ${i}`, layer: 'coverage', thing: null, lines: [ring], unseen: true }];
  });
}

function tintOf(cell: CoverageCell, style: Pick<LengthStyle, 'unit'>): number | null {
  if (cell === null) return null;
  return typeof cell === 'string' ? unseenTint : coverageStep(cell, style);
}

/** The outline of a rectangle of the table top; null where the picture cannot show all of it. */
function patchOn(frame: PictureFrame, left: number, right: number, low: number, high: number): Point[] | null {
  const corners = [
    [left, low],
    [right, low],
    [right, high],
    [left, high],
  ].map(([x, y]) => frame.pictureFromTable(x, y, 0));
  return corners.every((p) => p !== null && Number.isFinite(p.x) && Number.isFinite(p.y)) ? (corners as Point[]) : null;
}
