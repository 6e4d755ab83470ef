// Where, and in which directions, scores are wanted: as places of the plan, and as blocks and cells of a turned picture.
import {
  batch,
  flip,
  heightPx,
  reserve,
  size,
  tiles,
  tilesAcross,
  tilesDown,
  widthPx,
  wishBytes,
  wishes,
} from './memory';

/** Where the marks of blocks and cells are, and the list of places. */
export let blocks: usize = 0;
let cells: usize = 0;
let places: usize = 0;
let placeCount: i32 = 0;

/** The first byte that whoever prepared last does not use. */
export function freeFrom(): usize {
  if (wishes != 0) return (places + <usize>placeCount * 12 + 63) & ~63;
  return flip + <usize>(size + 2 * batch + 64) * <usize>(size + 2 * batch + 64) * 4;
}

/** Sides of the blocks of the turned picture that are scored or passed over: across the track, and along it. */
export const blockWidth: i32 = 32;
export const blockHeight: i32 = 16;

export function blocksAcross(): i32 {
  return size / blockWidth + 2;
}

export function blocksAlong(): i32 {
  return size / blockHeight + 2;
}

/** Cells are four pixels square: what of a block is scored. */
function cellsAcross(): i32 {
  return (size >> 2) + 2;
}

/** Whether the cell with the turned place (i, j) has wanted pixels. */
export function isMarked(i: i32, j: i32): bool {
  return load<u8>(cells + <usize>((j >> 2) * cellsAcross() + (i >> 2))) != 0;
}

/** Lists where anything is wanted: column, row and directions of each place. To be called when the wishes are in place. */
export function findWanted(): void {
  blocks = flip;
  cells = blocks + <usize>blocksAcross() * blocksAlong();
  places = (cells + <usize>cellsAcross() * cellsAcross() + 15) & ~15;
  placeCount = 0;
  for (let k = 0; k < 2; k++) {
    let at = places;
    for (let t = 0; t < tilesAcross * tilesDown; t++) {
      const tile = load<i32>(tiles + <usize>(t << 2)) - 1;
      if (tile < 0) continue;
      for (let p = 0; p < 256; p++) {
        const bits = load<i32>(wishes + <usize>tile * wishBytes + <usize>(p << 2));
        if (bits == 0) continue;
        if (k == 0) {
          placeCount++;
          continue;
        }
        store<i32>(at, (t % tilesAcross) * 16 + (p & 15));
        store<i32>(at, (t / tilesAcross) * 16 + (p >> 4), 4);
        store<i32>(at, bits, 8);
        at += 12;
      }
    }
    if (k == 0) reserve(places + <usize>placeCount * 12);
  }
}

/** Marks the cells, and the blocks, of the turned picture that have wanted pixels; blocks column by column, cells by row. */
export function markBlocks(index: i32, c: f64, s: f64): void {
  const rows = blocksAlong();
  memory.fill(blocks, 0, <usize>(blocksAcross() * rows));
  memory.fill(cells, 0, <usize>(cellsAcross() * cellsAcross()));
  const middle = f64(size - 1) / 2;
  // A place stands for all pixels that are rounded to it: none is farther off.
  const near: f64 = 2;
  for (let k = 0; k < placeCount; k++) {
    const place = places + <usize>(k * 12);
    if (((load<i32>(place, 8) >> index) & 1) == 0) continue;
    const dx = f64(load<i32>(place) * 2) - f64(widthPx - 1) / 2;
    const dy = f64(load<i32>(place, 4) * 2) - f64(heightPx - 1) / 2;
    const i = middle + dx * s + dy * c;
    const j = middle + dx * c - dy * s;
    const firstI = i32(Math.max(0, i - near));
    const firstJ = i32(Math.max(0, j - near));
    const lastI = min(i32(i + near), size - 1);
    const lastJ = min(i32(j + near), size - 1);
    for (let column = firstI / blockWidth; column <= lastI / blockWidth; column++)
      for (let r = firstJ / blockHeight; r <= lastJ / blockHeight; r++)
        store<u8>(blocks + <usize>(column * rows + r), 1);
    for (let r = firstJ >> 2; r <= lastJ >> 2; r++)
      for (let column = firstI >> 2; column <= lastI >> 2; column++)
        store<u8>(cells + <usize>(r * cellsAcross() + column), 1);
  }
}
