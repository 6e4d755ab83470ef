import { describe, expect, it } from 'vitest';
import type { RailLikeness } from '../../../../server/stages/rails/likeness-tiles.js';
import { cellsNeeded, promisingPlaces } from '../../../../server/stages/rails/promising-places.js';
import { reachOfWanted } from '../../../../server/stages/rails/rail-likeness.js';
import { likenessOfPixels } from '../../../support/rails/likeness-of-pixels.js';

const fine = { widthPx: 400, heightPx: 300 };
const [columns, rows] = [(fine.widthPx + 2) >> 1, (fine.heightPx + 2) >> 1];

/** A ridge of strong places, one of weak ones, and one of noise, on the coarse plan. */
function coarseLikeness(): RailLikeness {
  const [widthPx, heightPx] = [200, 150];
  const score = new Float32Array(widthPx * heightPx);
  const direction = new Uint8Array(widthPx * heightPx);
  const put = (x: number, value: number, d: number): void => {
    for (let y = 10; y < 140; y++) {
      score[y * widthPx + x] = value;
      direction[y * widthPx + x] = d;
    }
  };
  for (const x of [20, 21, 22, 23]) put(x, 40, 8);
  put(100, 8, 0);
  put(160, 1, 4);
  // As strong as the weak ridge, but short.
  for (let y = 60; y < 75; y++) score[y * widthPx + 130] = 8;
  return likenessOfPixels({ widthPx, heightPx }, 16, score, direction);
}

describe('where rails are looked for closely', () => {
  const wanted = promisingPlaces(coarseLikeness(), fine);
  const at = (x: number, y: number): number => wanted.at(x, y);

  it('is around what the coarse plan shows, strong or weak, and not where it is noise', () => {
    expect(at(21, 50)).not.toBe(0);
    expect(at(102, 50)).not.toBe(0);
    expect(at(160, 50)).toBe(0);
    expect(at(60, 50)).toBe(0);
    expect(at(130, 66)).toBe(0);
  });

  it('is in directions near the coarse one, also beyond half a turn', () => {
    const directions = (bits: number): number[] => [...Array(24).keys()].filter((k) => (bits >> k) & 1);
    expect(directions(at(20, 50))).toEqual([10, 11, 12, 13, 14]);
    expect(directions(at(100, 50))).toEqual([0, 1, 2, 22, 23]);
  });

  it('needs the plan as far as it has a say', () => {
    const spacingPx = 14;
    const { cells, across } = cellsNeeded(wanted, spacingPx);
    const isNeeded = (column: number, row: number) => cells[row * across + column] === 1;
    const reach = reachOfWanted(spacingPx);
    for (let y = 0; y < rows; y++)
      for (let x = 0; x < columns; x++) {
        if (at(x, y) === 0) continue;
        for (const [dx, dy] of [
          [reach, 0],
          [-reach, 0],
          [0, reach],
          [0, -reach],
        ]) {
          const px = Math.max(0, Math.min(fine.widthPx - 1, 2 * x + dx));
          const py = Math.max(0, Math.min(fine.heightPx - 1, 2 * y + dy));
          expect(isNeeded(px >> 2, py >> 2)).toBe(true);
        }
      }
    expect(isNeeded(70, 40)).toBe(false);
  });
});
