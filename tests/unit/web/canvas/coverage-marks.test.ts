import { describe, expect, it } from 'vitest';
import type { Coverage } from '../../../../server/contract/coverage.js';
import { coverageMarks, helpMarks, unseenTint } from '../../../../web/canvas/coverage-marks.js';
import { sheetFrame } from '../../../../web/canvas/picture-frame.js';

const frame = sheetFrame([
  [0, 0],
  [250, 100],
]);
const coverage: Coverage = {
  cellMm: [50, 50],
  openEnds: [],
  origin: [0, 0],
  columns: 5,
  rows: 2,
  cells: [0.2, 0.2, 0.2, 0.2, 0.41, 1.5, 'not-seen', 'covered', null, null],
  leastSure: null,
  helps: [],
};

describe('the tinted cells on a picture', () => {
  const marks = coverageMarks(coverage, frame, { unit: 'mm' });

  it('are one mark for each tint, chosen by nothing', () => {
    expect(marks.map((m) => [m.layer, m.tint, m.thing])).toEqual([
      ['coverage', 0, null],
      ['coverage', 1, null],
      ['coverage', 3, null],
      ['coverage', unseenTint, null],
    ]);
  });

  it('cover exactly the cells that have a tint: areas add up', () => {
    const area = (ring: readonly { x: number; y: number }[]): number =>
      Math.abs(
        ring.reduce((sum, p, i) => sum + p.x * ring[(i + 1) % ring.length].y - p.y * ring[(i + 1) % ring.length].x, 0) /
          2,
      );
    const areas = marks.map((m) => m.lines.reduce((sum, ring) => sum + area(ring), 0));
    expect(areas).toEqual([10_000, 2_500, 2_500, 5_000]);
  });

  it('are left out where the picture cannot show them', () => {
    const half = { ...frame, pictureFromTable: (x: number, y: number) => (x > 160 ? null : { x, y }) };
    const shown = coverageMarks(coverage, half, { unit: 'mm' }).find((m) => m.tint === 0);
    expect(shown?.lines).toHaveLength(1);
  });
});

describe('places where something more would help', () => {
  it('are a square for a marker and a circle for a photo, around their middles, closed and dashed', () => {
    const near = { side: 'A', part: 'left' } as const;
    const helps: Coverage['helps'] = [
      { kind: 'marker', near, inwards: false, at: [100, 50], thenU: 0.3 },
      { kind: 'photo', near, inwards: false, at: [150, 50], thenU: 0.3 },
    ];
    const marks = helpMarks({ ...coverage, helps }, frame);
    expect(marks.map((m) => [m.lines[0].length, m.unseen, m.layer])).toEqual([
      [5, true, 'coverage'],
      [25, true, 'coverage'],
    ]);
    marks.forEach(({ lines: [ring] }, i) => {
      const around = frame.pictureFromTable(helps[i].at[0], helps[i].at[1], 0);
      const mean = (key: 'x' | 'y') => ring.slice(1).reduce((sum, p) => sum + p[key], 0) / (ring.length - 1);
      expect(mean('x')).toBeCloseTo(Number(around?.x), 6);
      expect(mean('y')).toBeCloseTo(Number(around?.y), 6);
      expect(ring[0].x).toBeCloseTo(ring[ring.length - 1].x, 6);
    });
    // A square with its sides along the table's.
    expect(marks[0].lines[0][0].x).toBeCloseTo(marks[0].lines[0][3].x, 6);
  });
});
