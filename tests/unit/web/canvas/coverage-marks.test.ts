import { describe, expect, it } from 'vitest';
import type { Coverage } from '../../../../server/contract/coverage.js';
import { coverageMarks, unseenTint } from '../../../../web/canvas/coverage-marks.js';
import { sheetFrame } from '../../../../web/canvas/picture-frame.js';

const frame = sheetFrame([
  [0, 0],
  [250, 100],
]);
const coverage: Coverage = {
  cellMm: 50,
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
