import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Raster } from '../../../../server/images/raster.js';
import { findDarkShapes } from '../../../../server/stages/markers/dark-shapes.js';
import { sourceSha256 } from '../../../../server/stages/markers/dark-shapes-kernel.js';
import { tileContrast } from '../../../../server/stages/markers/tile-contrast.js';
import { sha256Of } from '../../../support/kernel-source.js';

/** Up to more rows than are looked at together, and more columns than fill a few vectors. */
const picture = fc
  .tuple(fc.integer({ min: 1, max: 70 }), fc.integer({ min: 1, max: 150 }), fc.integer())
  .map(([widthPx, heightPx, seed]): Raster => {
    let state = seed >>> 0;
    const next = () => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return state >>> 24;
    };
    const coarse = Array.from({ length: 200 }, next);
    const data = Uint8Array.from({ length: widthPx * heightPx }, (_, i) => {
      const [x, y] = [i % widthPx, Math.floor(i / widthPx)];
      return (coarse[(Math.floor(x / 5) * 13 + Math.floor(y / 5)) % 200] * 3 + next()) >> 2;
    });
    return { widthPx, heightPx, channels: 1, data };
  });

/** Darkest and brightest pixel of the tile at (x, y) and its eight neighbours, by looking at each. */
function extremesAround(grey: Raster, x: number, y: number): [number, number] {
  const [left, top] = [Math.floor(x / 4) * 4 - 4, Math.floor(y / 4) * 4 - 4];
  let [low, high] = [255, 0];
  for (let v = Math.max(0, top); v < Math.min(grey.heightPx, top + 12); v++)
    for (let u = Math.max(0, left); u < Math.min(grey.widthPx, left + 12); u++) {
      low = Math.min(low, grey.data[v * grey.widthPx + u]);
      high = Math.max(high, grey.data[v * grey.widthPx + u]);
    }
  return [low, high];
}

/** Dark patches by flood filling: box, area and outline of each, as one comparable text. */
function floodFilled(grey: Raster, leastContrast: number, fraction: number): string[] {
  const { widthPx: w, heightPx: h, data } = grey;
  const dark = Uint8Array.from(data, (code, i) => {
    const [low, high] = extremesAround(grey, i % w, Math.floor(i / w));
    return high - low >= leastContrast && code < Math.ceil(low + (high - low) * fraction) ? 1 : 0;
  });
  const found: string[] = [];
  for (let start = 0; start < w * h; start++) {
    if (!dark[start]) continue;
    const patch = [start];
    dark[start] = 0;
    for (let n = 0; n < patch.length; n++) {
      const [x, y] = [patch[n] % w, Math.floor(patch[n] / w)];
      for (let v = Math.max(0, y - 1); v <= Math.min(h - 1, y + 1); v++)
        for (let u = Math.max(0, x - 1); u <= Math.min(w - 1, x + 1); u++)
          if (dark[v * w + u]) {
            dark[v * w + u] = 0;
            patch.push(v * w + u);
          }
    }
    const rows = [...new Set(patch.map((i) => Math.floor(i / w)))].sort((a, b) => a - b);
    const outline = rows.map((row) => {
      const xs = patch.filter((i) => Math.floor(i / w) === row).map((i) => i % w);
      return `${Math.min(...xs)}-${Math.max(...xs)}`;
    });
    found.push(`${rows[0]}:${outline.join(',')}:${patch.length}`);
  }
  return found.sort();
}

describe('tileContrast', () => {
  it('knows darkest and brightest pixel around every tile', () => {
    fc.assert(
      fc.property(picture, (grey) => {
        const tiles = tileContrast(grey);
        for (let r = 0; r < tiles.rows; r++)
          for (let c = 0; c < tiles.columns; c++)
            expect([tiles.low[r * tiles.columns + c], tiles.high[r * tiles.columns + c]]).toEqual(
              extremesAround(grey, 4 * c, 4 * r),
            );
      }),
      { numRuns: 60 },
    );
  });
});

describe('findDarkShapes', () => {
  it('finds the same patches as flood filling', () => {
    fc.assert(
      fc.property(picture, fc.constantFrom(0.35, 0.5, 0.6), (grey, fraction) => {
        const options = { leastBoxPx: 1, mostBoxPx: 150, leastContrast: 20, fraction };
        const shapes = findDarkShapes(grey, tileContrast(grey), options)
          .map(
            ({ top, left, right, areaPx2 }) =>
              `${top}:${[...left].map((x, i) => `${x}-${right[i]}`).join(',')}:${areaPx2}`,
          )
          .sort();
        // Very thin crooked patches are left out on purpose: less than 0.12 of their box.
        const all = floodFilled(grey, 20, fraction);
        expect(all).toEqual(expect.arrayContaining(shapes));
        for (const patch of all.filter((p) => !shapes.includes(p))) expect(fillOf(patch)).toBeLessThan(0.12);
      }),
      { numRuns: 100 },
    );
  });
});

describe('the compiled inner loops', () => {
  it('stem from their source as it is: node server/kernels/build.mjs compiles it again', () => {
    expect(sha256Of('dark-shapes')).toBe(sourceSha256);
  });
});

function fillOf(patch: string): number {
  const [, outline, area] = patch.split(':');
  const rows = outline.split(',').map((row) => row.split('-').map(Number));
  const width = Math.max(...rows.map((r) => r[1])) - Math.min(...rows.map((r) => r[0])) + 1;
  return Number(area) / (width * rows.length);
}
