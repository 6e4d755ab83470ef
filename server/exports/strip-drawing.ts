import type { Plan } from '../contract/plan.js';
import { bothUnitsInLine } from '../units/exact-length.js';
import type { LengthStyle } from '../units/format-length.js';
import { type CutList, cutListOf, donorName } from './cut-list.js';
import type { Drawing, DrawingPoint, Layer, Shape } from './drawing.js';

const layers: readonly Layer[] = [
  { name: 'donors', strokeMm: 0.25, colourIndex: 7, grey: 0 },
  { name: 'marks', strokeMm: 0.2, colourIndex: 1, grey: 0 },
  { name: 'kerfs', strokeMm: 0.2, colourIndex: 8, grey: 0.5 },
  { name: 'labels', strokeMm: 0.2, colourIndex: 7, grey: 0 },
  { name: 'check-bars', strokeMm: 0.25, colourIndex: 7, grey: 0 },
];

const stripHeightMm = 13;
const rowMm = 26;

/**
 * The strips of a plan's donors at true size as one drawing: each donor a rectangle from its pinned end (x = 0), a
 * line at each mark, the kerf beyond it, and check bars of 100 mm and 4 in below.
 */
export function stripDrawing(plan: Plan, style: LengthStyle): Drawing {
  const list = cutListOf(plan);
  const shapes: Shape[] = [];
  let top = 0;
  if (list.doNotCut.length > 0) {
    shapes.push(label(0, top + 4, `DO NOT CUT YET. ${list.doNotCut.join(' ')}`, 5));
    top -= 6;
  }
  for (const donor of list.donors.filter((d) => d.cuts.length > 0)) {
    top -= rowMm;
    shapes.push(...donorShapes(list, donor, top, style));
  }
  top -= 14;
  shapes.push(...bar(top, 100, '100 mm'), ...bar(top - 9, 101.6, '4 in'));
  return { title: 'Strips for the donors at true size', layers, shapes };
}

function donorShapes(list: CutList, donor: CutList['donors'][number], bottom: number, style: LengthStyle): Shape[] {
  const top = bottom + stripHeightMm;
  const shapes: Shape[] = [
    { kind: 'polyline', layer: 'donors', closed: true, points: rectangle(0, bottom, donor.lengthMm, top) },
    label(
      0,
      top + 2,
      `${donorName(list, donor.id)}, ${bothUnitsInLine(donor.lengthMm, style)}, pinned end on the left`,
      2.6,
    ),
  ];
  for (const piece of donor.pieces) {
    const middle = (piece.fromMm + piece.toMm) / 2;
    shapes.push({ ...label(middle, bottom + 7.5, piece.filler, 3), middle: true });
    const words = bothUnitsInLine(piece.lengthMm, style);
    const fits = piece.lengthMm > words.length * 1.4;
    if (fits) shapes.push({ ...label(middle, bottom + 3, words, 2), middle: true });
  }
  for (const cut of donor.cuts) {
    const kerf = Math.min(cut.kerfMm, donor.lengthMm - cut.markMm);
    shapes.push({ kind: 'line', layer: 'marks', from: [cut.markMm, bottom - 2], to: [cut.markMm, top] });
    shapes.push({
      kind: 'polyline',
      layer: 'kerfs',
      closed: true,
      points: rectangle(cut.markMm, bottom, cut.markMm + kerf, top),
    });
    shapes.push({ ...label(cut.markMm, bottom - 5, `cut ${cut.order}`, 2), middle: true });
  }
  return shapes;
}

function bar(y: number, lengthMm: number, words: string): Shape[] {
  const end = (x: number): Shape => ({ kind: 'line', layer: 'check-bars', from: [x, y - 2], to: [x, y + 2] });
  return [
    { kind: 'line', layer: 'check-bars', from: [0, y], to: [lengthMm, y] },
    end(0),
    end(lengthMm),
    { ...label(lengthMm / 2, y + 1, words, 2.6), middle: true },
  ];
}

function label(x: number, y: number, text: string, heightMm: number): Extract<Shape, { kind: 'text' }> {
  return { kind: 'text', layer: 'labels', at: [x, y], heightMm, text, middle: false };
}

function rectangle(left: number, bottom: number, right: number, top: number): DrawingPoint[] {
  return [
    [left, bottom],
    [right, bottom],
    [right, top],
    [left, top],
  ];
}
