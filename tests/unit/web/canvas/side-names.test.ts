import { describe, expect, it } from 'vitest';
import type { Report } from '../../../../server/contract/report.js';
import { sheetFrame } from '../../../../web/canvas/picture-frame.js';
import { boxAround, crosses, overlap } from '../../../../web/canvas/place-labels.js';
import { discBox, placeNames, sideNames } from '../../../../web/canvas/side-names.js';
import type { Point } from '../../../../web/canvas/view.js';

const corners = [
  [0, 0],
  [1800, 0],
  [1800, 900],
  [0, 900],
] as const;
const report = (seen: readonly boolean[] = [true, true, true, true]) =>
  ({
    table: {
      outline: corners,
      sides: corners.map((from, i) => ({
        name: 'ABCD'[i],
        from,
        to: corners[(i + 1) % 4],
        length: { value: 1, u: 1 },
        seen: seen[i],
      })),
    },
  }) as unknown as Report;
/** One millimetre a pixel, 60 free around the table. */
const frame = sheetFrame(corners);
const bounds = { left: 0, top: 0, right: frame.width, bottom: frame.height };
const same = (p: Point): Point => p;

describe('the names of the table sides on a picture', () => {
  it('stand near the middle of each side, outside of the table', () => {
    const placed = placeNames(sideNames(report(), frame), same, [], [], bounds);
    // As far off the edge as its disc is wide, and two pixels more.
    const off = 13;
    expect(placed.map((p) => [p.wish.text, Math.round(p.at.x), Math.round(p.at.y)])).toEqual([
      ['A', 960, 960 + off],
      ['B', 1860 + off, 60 + 460],
      ['C', 960, 60 - off],
      ['D', 60 - off, 60 + 440],
    ]);
  });

  it('are missing for a side that only closes the outline, and for one that lies outside the picture', () => {
    expect(sideNames(report([true, false, true, true]), frame).map((n) => n.text)).toEqual(['A', 'C', 'D']);
    const near = { ...frame, width: 1000 };
    expect(sideNames(report(), near).map((n) => n.text)).toEqual(['A', 'C', 'D']);
  });

  it('move along their side out of the way of what must stay free and of rails, and stay in the picture', () => {
    const gap = boxAround([
      { x: 900, y: 900 },
      { x: 1000, y: 1100 },
    ]);
    const rail = [
      { x: 1860, y: 400 },
      { x: 1890, y: 600 },
    ] as const;
    const tight = { ...bounds, right: 1862 };
    const placed = placeNames(sideNames(report(), frame), same, [gap], [rail], tight);
    const [a, b] = placed.map((p) => discBox(p.at));
    expect(overlap(a, gap)).toBe(false);
    expect(Math.abs(placed[0].at.x - 950)).toBeLessThan(100);
    expect(crosses(rail, b)).toBe(false);
    expect(b.right).toBeLessThanOrEqual(1862);
  });
});
