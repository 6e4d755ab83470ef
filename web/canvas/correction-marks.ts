import type { Correction, CorrectionOf } from '../../server/contract/corrections.js';
import type { Pixel } from './correct-by-touch.js';
import type { Mark } from './marks.js';
import type { Point } from './view.js';
import type { Handle } from './wish-marks.js';

/** Half the width of the cross that stands for one place, photo pixels. */
const crossPx = 14;

/** Draws the corrections made on one photo. They are photo pixels already. */
export function correctionMarks(list: readonly Correction[], photoId: string): Mark[] {
  return list
    .filter((c) => c.photo === photoId)
    .map(
      (c): Mark => ({ key: `correction ${c.id}`, layer: 'corrections', thing: `correction:${c.id}`, ...shapeOf(c) }),
    );
}

/** Draws the places touched so far. */
export function touchedMarks(touched: readonly Pixel[]): Mark[] {
  if (touched.length === 0) return [];
  const line = touched.length > 1 ? [touched.map(pointOf)] : [];
  return [{ key: 'touched', layer: 'corrections', thing: null, lines: [...line, ...touched.flatMap(cross)] }];
}

/** A handle on every corner of the outline. */
export function cornerHandles(corners: readonly CorrectionOf<'table-outline'>['corners'][number][]): Handle[] {
  return corners.map((c, i) => ({ id: `corner:${i}`, name: `corner ${i + 1}`, at: pointOf(c.at) }));
}

function shapeOf(c: Correction): Pick<Mark, 'lines' | 'area'> {
  switch (c.kind) {
    case 'table-outline': {
      const set = c.corners.filter((k) => k.set).flatMap((k) => cross(k.at));
      return { lines: [[...c.corners, c.corners[0]].map((k) => pointOf(k.at)), ...set] };
    }
    case 'track-here':
    case 'no-track-along':
      return { lines: [c.line.map(pointOf)] };
    case 'not-track':
      return { lines: [[...c.area, c.area[0]].map(pointOf)], area: true };
    case 'join':
    case 'open-gap':
      return { lines: [c.ends.map(pointOf), ...c.ends.flatMap(cross)] };
    default:
      return { lines: cross(c.at) };
  }
}

function pointOf([x, y]: Pixel): Point {
  return { x, y };
}

function cross([x, y]: Pixel): Point[][] {
  return [
    [
      { x: x - crossPx, y: y - crossPx },
      { x: x + crossPx, y: y + crossPx },
    ],
    [
      { x: x - crossPx, y: y + crossPx },
      { x: x + crossPx, y: y - crossPx },
    ],
  ];
}
