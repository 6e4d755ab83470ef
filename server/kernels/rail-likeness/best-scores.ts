// Keeps for each pixel of the plan the best score of all directions, whichever thread has it.
import { codes, heightPx, tileBytes, tiles, tilesAcross, widthPx, wishBytes, wishes } from './memory';

/** Takes a score over at those of the plan pixels round (x, y) to which its turned place is the nearest. */
export function take(value: f32, x: f64, y: f64, c: f64, s: f64, index: i32): void {
  if (value <= 0) return;
  const left = Math.floor(x);
  const top = Math.floor(y);
  // How far the pixel to the upper left is off along the track and across it, in turned pixels; then its neighbours.
  const along = (left - x) * c - (top - y) * s;
  const across = (left - x) * s + (top - y) * c;
  const px = i32(left);
  const py = i32(top);
  if (isNearest(along, across)) takeAt(value, px, py, index);
  if (isNearest(along + c, across + s)) takeAt(value, px + 1, py, index);
  if (isNearest(along - s, across + c)) takeAt(value, px, py + 1, index);
  if (isNearest(along + c - s, across + s + c)) takeAt(value, px + 1, py + 1, index);
}

function isNearest(along: f64, across: f64): bool {
  return along >= -0.5 && along < 0.5 && across >= -0.5 && across < 0.5;
}

function takeAt(value: f32, px: i32, py: i32, index: i32): void {
  if (<u32>px >= <u32>widthPx || <u32>py >= <u32>heightPx) return;
  const x = px + 1;
  const y = py + 1;
  const tile = load<i32>(tiles + <usize>(((y >> 5) * tilesAcross + (x >> 5)) << 2)) - 1;
  if (tile < 0) return;
  if (wishes != 0) {
    const place = wishes + <usize>tile * wishBytes + <usize>((((y & 31) >> 1) << 6) + (((x & 31) >> 1) << 2));
    if (((load<i32>(place) >> index) & 1) == 0) return;
  }
  const at = codes + <usize>tile * tileBytes + <usize>(((y & 31) << 7) + ((x & 31) << 2));
  const code = (reinterpret<i32>(value) & ~31) | (31 - index);
  let known = atomic.load<i32>(at);
  while (code > known) {
    const found = atomic.cmpxchg<i32>(at, known, code);
    if (found == known) return;
    known = found;
  }
}
