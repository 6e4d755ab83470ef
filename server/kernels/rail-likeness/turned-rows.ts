// Turns the picture row by row, each within the span in which the plan and the photo cover it, and as columns too, so
// that the direction square to it need not be turned again.
import {
  batch,
  flip,
  flipSpans,
  grey,
  heightPx,
  lineSpans,
  lines,
  margin,
  reserve,
  sideCount,
  sides,
  size,
  stride,
  widthPx,
} from './memory';

let flipStride: i32 = 0;
let flipFrom: i32 = 0;
let flipRowFrom: i32 = 0;
let hasSides: bool = false;

/** Until the sides are found again, the photo may cover the whole plan. */
export function forgetSides(): void {
  hasSides = false;
}

/** To be called when the picture is in its place. */
export function findSides(): void {
  hasSides = true;
  for (let k = 0; k < sideCount; k++) {
    const angle = (2 * Math.PI * f64(k)) / f64(sideCount);
    const at = sides + <usize>(k * 24);
    store<f64>(at, Math.cos(angle));
    store<f64>(at, Math.sin(angle), 8);
    store<f64>(at, -1e30, 16);
  }
  for (let y = 0; y < heightPx; y++) {
    const row = grey + <usize>(y * widthPx * 4);
    let first = 0;
    while (first < widthPx && isNaN(load<f32>(row + <usize>(first << 2)))) first++;
    if (first == widthPx) continue;
    let last = widthPx - 1;
    while (isNaN(load<f32>(row + <usize>(last << 2)))) last--;
    for (let k = 0; k < sideCount; k++) {
      const at = sides + <usize>(k * 24);
      const nx = load<f64>(at);
      const out = Math.max(nx * f64(first), nx * f64(last)) + load<f64>(at, 8) * f64(y);
      if (out > load<f64>(at, 16)) store<f64>(at, out, 16);
    }
  }
}

/** Cuts the span of a turned row to where the photo covers the plan. */
function cutToSides(x0: f64, y0: f64, c: f64, s: f64): void {
  for (let k = 0; k < sideCount; k++) {
    const at = sides + <usize>(k * 24);
    const nx = load<f64>(at);
    const ny = load<f64>(at, 8);
    const room = load<f64>(at, 16) - nx * x0 - ny * y0;
    const step = nx * s + ny * c;
    if (Math.abs(step) < 1e-9) {
      if (room < 0) spanHi = spanLo;
    } else if (step > 0) {
      const end = Math.floor(room / step) + 1;
      if (end < f64(spanHi)) spanHi = end > f64(spanLo) ? i32(end) : spanLo;
    } else {
      const start = Math.ceil(room / step);
      if (start > f64(spanLo)) spanLo = start < f64(spanHi) ? i32(start) : spanHi;
    }
  }
}

/** The span of the row in hand: its first place, and the one after its last. */
export let spanLo: i32 = 0;
export let spanHi: i32 = 0;

export function takeSpan(lo: i32, hi: i32): void {
  spanLo = lo;
  spanHi = hi;
}

/** The whole steps i for which 0 ≤ start + i·step < limit. */
function cutSpan(start: f64, step: f64, limit: f64): void {
  if (Math.abs(step) < 1e-9) {
    if (!(start >= 0 && start < limit)) spanHi = spanLo;
    return;
  }
  const a = -start / step;
  const b = (limit - start) / step;
  const lo = i32(Math.ceil(Math.max(-1, Math.min(a, b))));
  const hi = i32(Math.floor(Math.min(1e9, Math.max(a, b)))) + 1;
  if (lo > spanLo) spanLo = lo;
  if (hi < spanHi) spanHi = hi;
  // The last step may lie on the limit itself.
  while (spanHi > spanLo && !(start + f64(spanHi - 1) * step < limit && start + f64(spanHi - 1) * step >= 0)) spanHi--;
  while (spanHi > spanLo && !(start + f64(spanLo) * step < limit && start + f64(spanLo) * step >= 0)) spanLo++;
}

/** Places of a row that are turned together, for all rows of a batch. */
export const piece: i32 = 16;

/** The span of row j of the turned picture that lies in the plan and in the photo. */
export function rowSpan(j: i32, c: f64, s: f64): void {
  spanLo = 0;
  spanHi = j < size ? size : 0;
  const x0 = startX(j, c, s);
  const y0 = startY(j, c, s);
  cutSpan(x0, s, f64(widthPx - 1));
  cutSpan(y0, c, f64(heightPx - 1));
  if (hasSides) cutToSides(x0, y0, c, s);
  if (spanHi <= spanLo) {
    spanLo = size;
    spanHi = 0;
  }
}

/** Rows j … j + batch of the turned picture to `lines`, each within its span, and as columns to `flip`. */
export function turnRows(j: i32, c: f64, s: f64): void {
  let lo = size;
  let hi = 0;
  for (let r = 0; r < batch; r++) {
    rowSpan(j + r, c, s);
    const at = lineSpans + <usize>(r << 3);
    store<i32>(at, spanLo);
    store<i32>(at, spanHi, 4);
    lo = min(lo, spanLo);
    hi = max(hi, spanHi);
    for (let i = spanLo; i < spanHi; i++) {
      const span = flipSpans + <usize>(i << 3);
      if (load<i32>(span, 4) == 0) store<i32>(span, j + r);
      store<i32>(span, j + r + 1, 4);
    }
  }
  for (let i = lo & ~3; i < hi; i += piece) {
    for (let r = 0; r < batch; r++) {
      const at = lineSpans + <usize>(r << 3);
      const from = max(i, load<i32>(at));
      const to = min(i + piece, load<i32>(at, 4));
      if (to > from) turnPiece(lineAt(r), startX(j + r, c, s), startY(j + r, c, s), from, to, c, s);
    }
    flipPiece(j, i);
  }
  for (let r = 0; r < batch; r++) {
    const at = lineSpans + <usize>(r << 3);
    closeSpan(lineAt(r), load<i32>(at), load<i32>(at, 4));
  }
}

/** Beside its span a row holds nothing. */
export function closeSpan(line: usize, from: i32, to: i32): void {
  if (to <= from) return;
  store<f32>(line + <usize>((from - 1) << 2), NaN);
  for (let k = 0; k < 5; k++) store<f32>(line + <usize>((to + k) << 2), NaN);
}

/** The piece of the batch that begins at column i, turned by a quarter; what lies beside the spans is never read. */
function flipPiece(j: i32, i: i32): void {
  for (let q = 0; q < piece; q += 4)
    for (let r = 0; r < batch; r += 4) {
      const from = lineAt(r) + <usize>((i + q) << 2);
      const pitch = <usize>stride * 4;
      const a = v128.load(from);
      const b = v128.load(from + pitch);
      const d = v128.load(from + 2 * pitch);
      const e = v128.load(from + 3 * pitch);
      const abLow = v128.shuffle<i32>(a, b, 0, 4, 1, 5);
      const abHigh = v128.shuffle<i32>(a, b, 2, 6, 3, 7);
      const deLow = v128.shuffle<i32>(d, e, 0, 4, 1, 5);
      const deHigh = v128.shuffle<i32>(d, e, 2, 6, 3, 7);
      const to = flipRow(i + q) + <usize>((j + r) << 2);
      const step = <usize>flipStride * 4;
      v128.store(to, v128.shuffle<i64>(abLow, deLow, 0, 2));
      v128.store(to + step, v128.shuffle<i64>(abLow, deLow, 1, 3));
      v128.store(to + 2 * step, v128.shuffle<i64>(abHigh, deHigh, 0, 2));
      v128.store(to + 3 * step, v128.shuffle<i64>(abHigh, deHigh, 1, 3));
    }
}

/** Column i of the turned picture as a row: where its place 0 would be. */
export function flipRow(i: i32): usize {
  return flip + <usize>(((i - flipRowFrom) * flipStride - flipFrom) * 4);
}

/** Makes room for the columns of the turned picture. */
export function makeFlip(c: f64, s: f64): void {
  let lo = size;
  let hi = 0;
  let first = size;
  let last = 0;
  for (let j = 0; j < size; j++) {
    rowSpan(j, c, s);
    if (spanHi <= spanLo) continue;
    lo = min(lo, spanLo);
    hi = max(hi, spanHi);
    first = min(first, j);
    last = j;
  }
  memory.fill(flipSpans, 0, <usize>size * 8);
  flipFrom = (first & ~(batch - 1)) - 8;
  flipStride = max(0, last - flipFrom + batch + 16) & ~3;
  flipRowFrom = lo & ~3;
  const rows = max(0, hi - flipRowFrom + piece + 4);
  reserve(flip + <usize>rows * <usize>flipStride * 4);
}

export function lineAt(r: i32): usize {
  return lines + <usize>(r * stride * 4) + <usize>(margin * 4);
}

export function startX(j: i32, c: f64, s: f64): f64 {
  const middle = f64(size - 1) / 2;
  return f64(widthPx - 1) / 2 + (f64(j) - middle) * c - middle * s;
}

export function startY(j: i32, c: f64, s: f64): f64 {
  const middle = f64(size - 1) / 2;
  return f64(heightPx - 1) / 2 - (f64(j) - middle) * s - middle * c;
}

/**
 * Places from … to of a turned row, at most a piece of them, and up to three more.
 * Within a piece single precision is enough for the places, counted from the pixel of the first one.
 */
export function turnPiece(line: usize, x0: f64, y0: f64, from: i32, to: i32, c: f64, s: f64): void {
  const x = x0 + f64(from) * s;
  const y = y0 + f64(from) * c;
  const bx = Math.floor(x);
  const by = Math.floor(y);
  const base = grey + <usize>((i32(by) * widthPx + i32(bx)) * 4);
  const rowBytes = <usize>widthPx * 4;
  const pitch = i32x4.splat(widthPx);
  const stepX = f32x4.splat(f32(s));
  const stepY = f32x4.splat(f32(c));
  const firstX = f32x4.splat(f32(x - bx));
  const firstY = f32x4.splat(f32(y - by));
  // Added to a small number less a half, this leaves its whole part in the lowest bits.
  const whole = f32x4.splat(12582912);
  const wholeBits = i32x4.splat(0x4b400000);
  const half = f32x4.splat(0.5);
  let steps = f32x4(0, 1, 2, 3);
  const end = line + <usize>(to << 2);
  for (let out = line + <usize>(from << 2); out < end; out += 16) {
    const px = f32x4.add(firstX, f32x4.mul(steps, stepX));
    const py = f32x4.add(firstY, f32x4.mul(steps, stepY));
    steps = f32x4.add(steps, f32x4.splat(4));
    const tx = f32x4.add(f32x4.sub(px, half), whole);
    const ty = f32x4.add(f32x4.sub(py, half), whole);
    const at = i32x4.shl(i32x4.add(i32x4.mul(i32x4.sub(ty, wholeBits), pitch), i32x4.sub(tx, wholeBits)), 2);
    const p0 = base + <usize>i32x4.extract_lane(at, 0);
    const p1 = base + <usize>i32x4.extract_lane(at, 1);
    const p2 = base + <usize>i32x4.extract_lane(at, 2);
    const p3 = base + <usize>i32x4.extract_lane(at, 3);
    const t01 = v128.load64_lane(p1, v128.load64_zero(p0), 1);
    const t23 = v128.load64_lane(p3, v128.load64_zero(p2), 1);
    const b01 = v128.load64_lane(p1 + rowBytes, v128.load64_zero(p0 + rowBytes), 1);
    const b23 = v128.load64_lane(p3 + rowBytes, v128.load64_zero(p2 + rowBytes), 1);
    // Down first, then across: the same to the last digits.
    const down = f32x4.sub(py, f32x4.sub(ty, whole));
    const v01 = f32x4.add(t01, f32x4.mul(v128.shuffle<i32>(down, down, 0, 0, 1, 1), f32x4.sub(b01, t01)));
    const v23 = f32x4.add(t23, f32x4.mul(v128.shuffle<i32>(down, down, 2, 2, 3, 3), f32x4.sub(b23, t23)));
    const left = v128.shuffle<i32>(v01, v23, 0, 2, 4, 6);
    const right = v128.shuffle<i32>(v01, v23, 1, 3, 5, 7);
    const across = f32x4.sub(px, f32x4.sub(tx, whole));
    v128.store(out, f32x4.add(left, f32x4.mul(across, f32x4.sub(right, left))));
  }
}
