// How rail-like each pixel of a plan picture is, one direction after the other: the inner loops of
// server/stages/rails/rail-likeness.ts, which says what is looked for. AssemblyScript, with four pixels in each vector;
// sums and comparisons are in single precision but for the running sums along the track. The picture is turned row by row,
// and only as many rows are kept as are averaged. Two threads may work in the same memory, each with an instance of its
// own: settings are the instance's, the picture and what is found are shared. `node server/kernels/build.mjs`
// compiles it.
import { compareRow, meanRow, prepareMixes, slopeRow } from './rail-likeness/match';
import {
  alongHalf,
  batch,
  flipSpans,
  grey,
  half,
  lag,
  lineSpans,
  margin,
  mean,
  products,
  ring,
  size,
  spans,
  stride,
  sums,
  turnsAt,
} from './rail-likeness/memory';
import {
  closeSpan,
  flipRow,
  forgetSides,
  lineAt,
  makeFlip,
  piece,
  rowSpan,
  spanHi,
  spanLo,
  startX,
  startY,
  takeSpan,
  turnPiece,
  turnRows,
} from './rail-likeness/turned-rows';
import {
  blockHeight,
  blocks,
  blocksAcross,
  blocksAlong,
  blockWidth,
  isMarked,
  markBlocks,
} from './rail-likeness/wanted';

export { codesAt, makeRoom, tilesAt, wishesAt } from './rail-likeness/memory';
export { findSides } from './rail-likeness/turned-rows';
export { findWanted, freeFrom } from './rail-likeness/wanted';

/**
 * Gets ready for what room was made for.
 * @returns where the picture goes, width × height single-precision numbers, NaN where nothing is known
 */
export function prepare(): usize {
  forgetSides();
  prepareMixes();
  return grey;
}

/** Scores a turn of `turns`, and the direction square to it. */
export function scoreTurn(turn: i32, turns: i32): void {
  const c = load<f64>(turnsAt + <usize>(turn << 4));
  const s = load<f64>(turnsAt + <usize>(turn << 4), 8);
  makeFlip(c, s);
  scoreDirection(turn, c, s, false);
  scoreDirection(turn + turns, -s, c, true);
}

function scoreDirection(index: i32, c: f64, s: f64, flipped: bool): void {
  const rows = 2 * alongHalf + 1;
  const row = <usize>stride * 4;
  memory.fill(ring, 0, row * <usize>rows);
  memory.fill(sums, 0, row * 2);
  memory.fill(mean, 0, row);
  const reach = i32(Math.ceil(lag * 1.04)) + half + 2;
  for (let k = 0; k < rows; k++) setSpan(k, size, 0);
  let lastLo = size;
  let lastHi = 0;
  for (let j = 0; j < size + alongHalf; j++) {
    // The row that leaves the sums is the one whose place the new row takes.
    const k = j % rows;
    const place = ring + row * <usize>k;
    memory.copy(products, place, row);
    let line = lineAt(j % batch);
    let span = lineSpans + <usize>((j % batch) << 3);
    if (!flipped) {
      if (j % batch == 0) turnRows(j, c, s);
    } else if (j < size) {
      span = flipSpans + <usize>((size - 1 - j) << 3);
      line = flipRow(size - 1 - j);
      closeSpan(line, load<i32>(span), load<i32>(span, 4));
    }
    takeSpan(load<i32>(span), j < size ? load<i32>(span, 4) : 0);
    slopeRow(line, place, -margin, stride - margin);
    const leavingLo = load<i32>(spans + <usize>(k << 3));
    const leavingHi = load<i32>(spans + <usize>(k << 3), 4);
    setSpan(k, spanLo, spanHi);
    // Places that any row of the ring holds.
    let lo = size;
    let hi = 0;
    for (let q = 0; q < rows; q++) {
      lo = min(lo, load<i32>(spans + <usize>(q << 3)));
      hi = max(hi, load<i32>(spans + <usize>(q << 3), 4));
    }
    const from = min(lo, min(lastLo, leavingLo)) & ~3;
    const to = max(hi, max(lastHi, leavingHi));
    lastLo = lo;
    lastHi = hi;
    if (to > from) meanRow(place, products, from, to);
    if (hi <= lo || j < alongHalf || ((j - alongHalf) & 1) != 0) continue;
    const a = max(reach, lo - half - 4) & ~3;
    const b = min(size - reach, hi + half + 4);
    if (b > a) compareRow(j - alongHalf, a, b, c, s, index);
  }
}

function setSpan(k: i32, lo: i32, hi: i32): void {
  const at = spans + <usize>(k << 3);
  store<i32>(at, hi > lo ? lo : size);
  store<i32>(at, hi > lo ? hi : 0, 4);
}

/** Scores a turn where it is wanted, and takes over what is better than all before. */
export function scoreWantedTurn(turn: i32): void {
  scoreWanted(turn, load<f64>(turnsAt + <usize>(turn << 4)), load<f64>(turnsAt + <usize>(turn << 4), 8));
}

function scoreWanted(index: i32, c: f64, s: f64): void {
  markBlocks(index, c, s);
  const rows = blocksAlong();
  for (let column = 0; column < blocksAcross(); column++) {
    const at = blocks + <usize>(column * rows);
    for (let first = 0; first < rows; first++) {
      if (load<u8>(at + <usize>first) == 0) continue;
      let last = first + 1;
      while (last < rows && load<u8>(at + <usize>last) != 0) last++;
      scoreMarked(column * blockWidth, first * blockHeight, last * blockHeight, index, c, s);
      first = last;
    }
  }
}

/** Scores what is marked of one column of blocks of the turned picture, from row j0 to j1. */
function scoreMarked(i0: i32, j0: i32, j1: i32, index: i32, c: f64, s: f64): void {
  let firstI = i0 + blockWidth;
  let lastI = i0;
  let firstJ = j1;
  let lastJ = j0;
  for (let j = j0; j < min(j1, size); j += 4)
    for (let i = i0; i < min(i0 + blockWidth, size); i += 4) {
      if (!isMarked(i, j)) continue;
      firstI = min(firstI, i);
      lastI = max(lastI, i + 4);
      firstJ = min(firstJ, j);
      lastJ = max(lastJ, j + 4);
    }
  if (lastI > firstI) scoreStrip(firstI, lastI, firstJ, lastJ, index, c, s);
}

/** Scores columns i0 … i1 of the turned picture from row j0 to j1; what is averaged into them is turned with them. */
function scoreStrip(i0: i32, i1: i32, j0: i32, j1: i32, index: i32, c: f64, s: f64): void {
  const rows = 2 * alongHalf + 1;
  const row = <usize>stride * 4;
  const reach = i32(Math.floor(1.03 * lag)) + half + 8;
  const lo = (i0 - reach) & ~3;
  const hi = i1 + reach;
  const offset = <usize>((lo + margin) << 2);
  const bytes = <usize>((hi - lo + 4) << 2);
  for (let k = 0; k < rows; k++) memory.fill(ring + row * <usize>k + offset, 0, bytes);
  memory.fill(sums + 2 * offset, 0, 2 * bytes);
  const line = lineAt(0);
  for (let j = j0 - alongHalf; j < j1 + alongHalf; j++) {
    const place = ring + row * <usize>((j + 2 * rows) % rows);
    memory.copy(products + offset, place + offset, bytes);
    rowSpan(j, c, s);
    takeSpan(max(spanLo, lo - 1), min(spanHi, hi + 1));
    for (let i = spanLo; i < spanHi; i += piece)
      turnPiece(line, startX(j, c, s), startY(j, c, s), i, min(i + piece, spanHi), c, s);
    closeSpan(line, spanLo, spanHi);
    slopeRow(line, place, lo, hi);
    meanRow(place, products, lo, hi);
    if (j - alongHalf >= j0 && ((j - alongHalf) & 1) == 0) compareRow(j - alongHalf, i0, i1, c, s, index);
  }
}
