import { type PlanSize, RailLikeness, tileCountOf, tilePixels } from '../../../server/stages/rails/likeness-tiles.js';

/** A likeness made of scores and directions of all pixels, row by row. */
export function likenessOfPixels(
  size: PlanSize,
  directionCount: number,
  score: Float32Array,
  direction: Uint8Array,
): RailLikeness {
  const table = Int32Array.from({ length: tileCountOf(size) }, (_, k) => k + 1);
  const codes = new Uint32Array(table.length * tilePixels);
  const across = (size.widthPx >> 5) + 1;
  const bits = new Uint32Array(Float32Array.from(score).buffer);
  for (let y = 0; y < size.heightPx; y++)
    for (let x = 0; x < size.widthPx; x++) {
      const from = y * size.widthPx + x;
      if (!(score[from] > 0)) continue;
      const tile = ((y + 1) >> 5) * across + ((x + 1) >> 5);
      codes[tile * tilePixels + ((y + 1) % 32) * 32 + ((x + 1) % 32)] = (bits[from] & ~31) | (31 - direction[from]);
    }
  return new RailLikeness(size, table, codes, directionCount);
}
