// How rail-like each pixel of a plan picture is, one direction after the other: the inner loops of
// server/stages/rails/rail-likeness.ts, which says what is looked for. AssemblyScript, with four pixels in each vector;
// sums and comparisons are in single precision but for the running sums along the track. The picture is turned row by row,
// and only as many rows are kept as are averaged. Two threads may work in the same memory, each with an instance of its
// own: settings are the instance's, the picture and the number of the next turn are shared. `node server/kernels/build.mjs`
// compiles it.

/** Places kept free beyond both ends of each row, so that vectors and lags may reach past them. */
let margin: i32 = 0;

/** Rows that are averaged along the track on each side of the middle. */
let alongHalf: i32 = 12;

let grey: usize = 0;
let widthPx: i32 = 0;
let heightPx: i32 = 0;
let size: i32 = 0;
let tiles: usize = 0;
let tilesAcross: i32 = 0;
let tilesDown: i32 = 0;
let codes: usize = 0;
let ring: usize = 0;
let sums: usize = 0;
let mean: usize = 0;
let energy: usize = 0;
let power: usize = 0;
let shared: usize = 0;
let products: usize = 0;
let quads: usize = 0;
let spans: usize = 0;
let lines: usize = 0;
let lineSpans: usize = 0;
let sides: usize = 0;
let dots: usize = 0;
let mixes: usize = 0;
let flipSpans: usize = 0;
let flip: usize = 0;
let flipStride: i32 = 0;
let flipFrom: i32 = 0;
let flipRowFrom: i32 = 0;
let wishes: usize = 0;
let blocks: usize = 0;
let cells: usize = 0;
let places: usize = 0;
let placeCount: i32 = 0;
let stride: i32 = 0;

let half: i32 = 0;
let three: bool = false;
let lag0: i32 = 0;
let lagLeft: i32 = 0;
let lagRight: i32 = 0;
let least: f32 = 0;
let steepest: f32 = 0;
let lag: f64 = 0;

/**
 * Sets the picture's size and what is looked for, and makes room for it.
 * @param picture where the picture is that another thread has made room for; 0 to make room
 * @param tileCount tiles of the plan that have room for scores; 0 where all have
 * @returns where the picture goes, width × height single-precision numbers, NaN where nothing is known
 */
export function prepare(
  firstByte: usize,
  picture: usize,
  width: i32,
  height: i32,
  diagonal: i32,
  halfPx: i32,
  spacingPx: f64,
  railCount: i32,
  along: i32,
  leastEnergy: f32,
  steepestStep: f32,
  tileCount: i32,
): usize {
  widthPx = width;
  heightPx = height;
  size = diagonal;
  alongHalf = along;
  half = halfPx;
  three = railCount == 3;
  lag = spacingPx;
  lag0 = i32(Math.floor(spacingPx + 0.5));
  lagLeft = three ? lag0 : lag0 >> 1;
  lagRight = three ? lag0 : lag0 - lagLeft;
  least = leastEnergy;
  steepest = steepestStep;
  margin = (i32(2.2 * lag) + 2 * half + 40) & ~3;
  stride = (size + 2 * margin + 3) & ~3;
  tilesAcross = (widthPx >> 5) + 1;
  tilesDown = (heightPx >> 5) + 1;
  const row = <usize>stride * 4;
  // Rows that run upwards are read a few places beyond their ends: those places may lie above the picture.
  let at = picture;
  if (picture == 0) at = (((firstByte + 15) & ~15) + <usize>width * 4 * 5 + 15) & ~15;
  grey = at;
  // Both threads see the picture, the tiles and what is in them, in this order.
  tiles = (grey + <usize>width * height * 4 + 31) & ~15;
  const tileRoom = tilesAcross * tilesDown;
  codes = (tiles + <usize>tileRoom * 4 + 15) & ~15;
  const count = tileCount == 0 ? tileRoom : tileCount;
  wishes = codes + <usize>count * tileBytes;
  at = wishes;
  if (tileCount == 0) wishes = 0;
  else at += <usize>count * wishBytes;
  if (picture == 0) {
    store<i32>(nextTurn, 0);
    reserve(at);
    memory.fill(codes, 0, <usize>count * tileBytes);
    if (tileCount == 0) for (let k = 0; k < count; k++) store<i32>(tiles + <usize>(k << 2), k + 1);
    else memory.fill(grey, 0, <usize>width * height * 4);
  } else {
    at = (firstByte + 15) & ~15;
  }
  ring = at;
  at += row * <usize>(2 * alongHalf + 1);
  sums = at;
  at += row * 2;
  mean = at;
  at += row;
  energy = at;
  at += row;
  power = at;
  at += row;
  shared = at;
  at += row;
  products = at;
  at += row;
  quads = at;
  at += row;
  spans = at;
  at += <usize>(2 * alongHalf + 1) * 8;
  lineSpans = at;
  at = (at + batch * 8 + 15) & ~15;
  lines = at;
  at += row * batch;
  sides = at;
  at += sideCount * 24;
  dots = (at + 15) & ~15;
  mixes = dots + <usize>(dotRoom + 4) * 16;
  at = mixes + 3 * 64;
  flipSpans = (at + 15) & ~15;
  at = flipSpans + 2 * row;
  flip = (at + 63) & ~63;
  reserve(flip);
  hasSides = false;
  prepareMixes();
  return grey;
}

/** Bytes of a tile's scores, and of its wishes: 32 × 32 pixels, and 16 × 16 places. */
const tileBytes: usize = 4096;
const wishBytes: usize = 1024;

/** Where the number of each tile is, 1…, row by row; 0 for those without room. 32-bit whole numbers. */
export function tilesAt(): usize {
  return tiles;
}

/**
 * Where the scores of each tile are, single precision: the lowest bits of each are 31 less its direction. The greater of
 * two, as whole numbers too, is the better; of equal scores the first direction's counts, in whatever order they come.
 */
export function codesAt(): usize {
  return codes;
}

/** Where it is written what is wanted: for each place of each tile a bit for each direction, 32-bit whole numbers. */
export function wishesAt(): usize {
  return wishes;
}

/** Where the number of the next turn is, of all threads. */
const nextTurn: usize = 64;

/** Where the cosine and the sine of each turn are, double precision. */
const turnsAt: usize = 128;

/** The next turn that no thread has taken. */
function takeTurn(): i32 {
  return atomic.add<i32>(nextTurn, 1);
}

/** The first byte that whoever prepared last does not use. */
export function freeFrom(): usize {
  if (wishes != 0) return (places + <usize>placeCount * 12 + 63) & ~63;
  return flip + <usize>(size + 2 * batch + 64) * <usize>(size + 2 * batch + 64) * 4;
}

function reserve(at: usize): void {
  const pages = <i32>((at + 65535) >> 16);
  if (pages > memory.size()) memory.grow(pages - memory.size());
}

/** Where the photo covers the plan: sides of a polygon round it, each a normal and how far out it lies along that. */
const sideCount: i32 = 16;
let hasSides: bool = false;

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

let spanLo: i32 = 0;
let spanHi: i32 = 0;

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

/** Rows that are turned together, in pieces, so that the plan's pixels stay in the processor's cache. */
const batch: i32 = 16;
const piece: i32 = 16;

/** The span of row j of the turned picture that lies in the plan and in the photo. */
function rowSpan(j: i32, c: f64, s: f64): void {
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
function turnRows(j: i32, c: f64, s: f64): void {
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
function closeSpan(line: usize, from: i32, to: i32): void {
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
function flipRow(i: i32): usize {
  return flip + <usize>(((i - flipRowFrom) * flipStride - flipFrom) * 4);
}

/** Makes room for the columns of the turned picture. */
function makeFlip(c: f64, s: f64): void {
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

function lineAt(r: i32): usize {
  return lines + <usize>(r * stride * 4) + <usize>(margin * 4);
}

function startX(j: i32, c: f64, s: f64): f64 {
  const middle = f64(size - 1) / 2;
  return f64(widthPx - 1) / 2 + (f64(j) - middle) * c - middle * s;
}

function startY(j: i32, c: f64, s: f64): f64 {
  const middle = f64(size - 1) / 2;
  return f64(heightPx - 1) / 2 - (f64(j) - middle) * s - middle * c;
}

/**
 * Places from … to of a turned row, at most a piece of them, and up to three more.
 * Within a piece single precision is enough for the places, counted from the pixel of the first one.
 */
function turnPiece(line: usize, x0: f64, y0: f64, from: i32, to: i32, c: f64, s: f64): void {
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

/**
 * Step across the track from the line's places beside each place, limited; 0 where one of them is not in the photo, and
 * beside the span, from `clearFrom` to `clearTo`.
 */
function slopeRow(line: usize, slope: usize, clearFrom: i32, clearTo: i32): void {
  const origin = slope + <usize>(margin * 4);
  memory.fill(origin + <usize>(clearFrom << 2), 0, <usize>((clearTo - clearFrom) << 2));
  if (spanHi <= spanLo) return;
  const most = f32x4.splat(steepest);
  for (let i = spanLo; i < spanHi; i += 4) {
    const at = <usize>(i << 2);
    const d = f32x4.sub(v128.load(line + at + 4), v128.load(line + at - 4));
    const kept = v128.and(d, f32x4.eq(d, d));
    v128.store(origin + at, f32x4.max(f32x4.neg(most), f32x4.min(most, kept)));
  }
  for (let k = 0; k < 4; k++) store<f32>(origin + <usize>((spanHi + k) << 2), 0);
}

/** Takes one row into the running sums, and another out of them, and writes the mean. */
function meanRow(enter: usize, leave: usize, from: i32, to: i32): void {
  const count = f64x2.splat(f64(2 * alongHalf + 1));
  for (let i = from; i < to; i += 4) {
    const at = <usize>((i + margin) << 2);
    const a = v128.load(enter + at);
    const b = v128.load(leave + at);
    const sum = sums + 2 * at;
    const low = f64x2.sub(f64x2.add(v128.load(sum), f64x2.promote_low_f32x4(a)), f64x2.promote_low_f32x4(b));
    const high = f64x2.sub(
      f64x2.add(v128.load(sum, 16), f64x2.promote_low_f32x4(v128.shuffle<i64>(a, a, 1, 1))),
      f64x2.promote_low_f32x4(v128.shuffle<i64>(b, b, 1, 1)),
    );
    v128.store(sum, low);
    v128.store(sum, high, 16);
    const meanLow = f32x4.demote_f64x2_zero(f64x2.div(low, count));
    const meanHigh = f32x4.demote_f64x2_zero(f64x2.div(high, count));
    v128.store(mean + at, v128.shuffle<i64>(meanLow, meanHigh, 0, 2));
  }
}

/** out(i) = sum over −half … half of values(i + k), by sums of four. */
function windowSums(values: usize, out: usize, from: i32, to: i32): void {
  const taps = 2 * half + 1;
  const whole = taps & ~3;
  const end = to + whole;
  let a = v128.load(values + <usize>((from - half + margin) << 2));
  for (let i = from - half; i < end - half; i += 4) {
    const at = <usize>((i + margin) << 2);
    const b = v128.load(values + at + 16);
    const two = f32x4.add(a, v128.shuffle<i32>(a, b, 1, 2, 3, 4));
    const next = f32x4.add(v128.shuffle<i32>(a, b, 2, 3, 4, 5), v128.shuffle<i32>(a, b, 3, 4, 5, 6));
    v128.store(quads + at, f32x4.add(two, next));
    a = b;
  }
  for (let i = from; i < to; i += 4) {
    const first = <usize>((i - half + margin) << 2);
    let sum = v128.load(quads + first);
    let k = 4;
    for (; k < whole; k += 4) sum = f32x4.add(sum, v128.load(quads + first + <usize>(k << 2)));
    for (; k < taps; k++) sum = f32x4.add(sum, v128.load(values + first + <usize>(k << 2)));
    v128.store(out + <usize>((i + margin) << 2), sum);
  }
}

/** Row j of the means stands for the next one too: of all the rows that they are means of hardly any differ. j is even. */
function compareRow(j: i32, from: i32, to: i32, c: f64, s: f64, index: i32): void {
  const farthest = i32(Math.floor(1.03 * lag)) + 2;
  const reach = farthest + half + 4;
  const lo = from - reach;
  const hi = to + reach;
  for (let i = lo; i < hi; i += 4) {
    const at = <usize>((i + margin) << 2);
    v128.store(products + at, f32x4.abs(v128.load(mean + at)));
  }
  windowSums(products, energy, from - lag0, to + lag0);
  if (three) {
    for (let i = lo; i < hi; i += 4) {
      const at = <usize>((i + margin) << 2);
      const a = v128.load(mean + at);
      v128.store(products + at, f32x4.mul(a, a));
    }
    windowSums(products, power, from - farthest, to + farthest);
    const ahead = <usize>(lag0 << 2);
    for (let i = from - lag0 - half; i < to + half + 4; i += 4) {
      const at = <usize>((i + margin) << 2);
      v128.store(products + at, f32x4.mul(v128.load(mean + at), v128.load(mean + at + ahead)));
    }
    windowSums(products, shared, from - lag0, to);
  }
  const enough = f32x4.splat(least);
  const four = f32x4.splat(4);
  const zero = f32x4.splat(0);
  const share = f32x4.splat(0.04);
  const left = <usize>(lagLeft << 2);
  const right = <usize>(lagRight << 2);
  for (let i = from; i < to; i += 4) {
    if (wishes != 0 && !isMarked(i, j)) continue;
    const at = <usize>((i + margin) << 2);
    const l = v128.load(energy + at - left);
    const r = v128.load(energy + at + right);
    let possible = v128.and(
      v128.and(f32x4.ge(l, enough), f32x4.ge(r, enough)),
      v128.and(f32x4.le(l, f32x4.mul(four, r)), f32x4.le(r, f32x4.mul(four, l))),
    );
    if (!v128.any_true(possible)) continue;
    if (three) {
      const own = v128.load(energy + at);
      possible = v128.and(
        possible,
        v128.and(f32x4.ge(own, enough), v128.and(f32x4.le(own, f32x4.mul(four, l)), f32x4.le(l, f32x4.mul(four, own)))),
      );
      // Where the neighbours do not agree at the nominal spacing they do not agree a fraction of a pixel beside it.
      const toLeft = v128.load(shared + at - left);
      const toRight = v128.load(shared + at);
      const ownPower = f32x4.mul(share, v128.load(power + at));
      possible = v128.and(
        possible,
        v128.and(
          v128.and(
            f32x4.gt(toLeft, zero),
            f32x4.gt(f32x4.mul(toLeft, toLeft), f32x4.mul(ownPower, v128.load(power + at - left))),
          ),
          v128.and(
            f32x4.gt(toRight, zero),
            f32x4.gt(f32x4.mul(toRight, toRight), f32x4.mul(ownPower, v128.load(power + at + left))),
          ),
        ),
      );
      if (!v128.any_true(possible)) continue;
    }
    const best = v128.and(bestMatch(at), possible);
    if (!v128.any_true(f32x4.gt(best, zero))) continue;
    takeFour(j, i, best, c, s, index);
    takeFour(j + 1, i, best, c, s, index);
  }
}

/** The best of three lags: the least of the correlations with both neighbours, in brightness steps; 0 unless all is well. */
function bestMatch(at: usize): v128 {
  const zero = f32x4.splat(0);
  if (!three) {
    let best = zero;
    for (let k = -1; k <= 1; k++) {
      const l = (1 + 0.03 * f64(k)) * lag;
      best = f32x4.pmax(best, correlate(at + <usize>(i32(Math.floor(-l / 2)) << 2), l));
    }
    return best;
  }
  const first = load<i32>(mixes, 48);
  const last = load<i32>(mixes, 128 + 48) + 1;
  productsAt(at, first, last, 1);
  let some = zero;
  for (let k = 0; k < 3; k++) {
    const value = matched(at, k, first, 1);
    v128.store(dots + <usize>((dotRoom + k) << 4), value);
    some = v128.or(some, f32x4.gt(value, zero));
  }
  if (!v128.any_true(some)) return zero;
  productsAt(at, first, last, -1);
  let best = zero;
  for (let k = 0; k < 3; k++) {
    const value = matched(at, k, first, -1);
    best = f32x4.pmax(best, f32x4.pmin(value, v128.load(dots + <usize>((dotRoom + k) << 4))));
  }
  return best;
}

/** Products of sums kept while a place is looked at: so many lags may be tried. */
const dotRoom: i32 = 32;

/**
 * Products of the profile here with the profiles whole lags from it to one side, and of each of those with the next: a
 * profile between two pixels is a mix of both, so its products are mixes of these.
 */
function productsAt(at: usize, first: i32, last: i32, side: i32): void {
  const near = mean + at;
  for (let whole = first; whole <= last; whole++) {
    const far = near + <usize>((side * whole) << 2);
    const next = far + <usize>(side << 2);
    let own = f32x4.splat(0);
    let ahead = f32x4.splat(0);
    for (let k = -half; k <= half; k++) {
      const off = <usize>(k << 2);
      const b = v128.load(far + off);
      own = f32x4.add(own, f32x4.mul(v128.load(near + off), b));
      ahead = f32x4.add(ahead, f32x4.mul(b, v128.load(next + off)));
    }
    const to = dots + <usize>((whole - first) << 5);
    v128.store(to, own);
    v128.store(to, ahead, 16);
  }
}

/** Correlation with the profile one of the lags to a side, in brightness steps; 0 unless it is good. */
function matched(at: usize, k: i32, first: i32, side: i32): v128 {
  const mix = mixes + <usize>(k << 6);
  const whole = load<i32>(mix, 48);
  const from = dots + <usize>((whole - first) << 5);
  const here = v128.load(mix);
  const there = v128.load(mix, 16);
  const ab = f32x4.add(f32x4.mul(here, v128.load(from)), f32x4.mul(there, v128.load(from + 32)));
  const far = power + at + <usize>((side * whole) << 2);
  const next = far + <usize>(side << 2);
  const bb = f32x4.add(
    f32x4.add(f32x4.mul(f32x4.mul(here, here), v128.load(far)), f32x4.mul(f32x4.mul(there, there), v128.load(next))),
    f32x4.mul(v128.load(mix, 32), v128.load(from, 16)),
  );
  return scored(ab, v128.load(power + at), f32x4.max(bb, f32x4.splat(0)));
}

/** How a profile between two pixels is mixed, for each lag: shares of both, twice their product, and the nearer lag. */
function prepareMixes(): void {
  for (let k = 0; k < 3; k++) {
    const l = (1 + 0.03 * f64(k - 1)) * lag;
    const whole = i32(Math.floor(l));
    const part = l - f64(whole);
    const mix = mixes + <usize>(k << 6);
    v128.store(mix, f32x4.splat(f32(1 - part)));
    v128.store(mix, f32x4.splat(f32(part)), 16);
    v128.store(mix, f32x4.splat(f32(2 * part * (1 - part))), 32);
    store<i32>(mix, whole, 48);
  }
}

/** Correlation of the profiles at four places with those a lag farther on, in brightness steps; 0 unless it is good. */
function correlate(at: usize, l: f64): v128 {
  const whole = Math.floor(l);
  const part = f32x4.splat(f32(l - whole));
  const far = mean + at + <usize>(i32(whole) << 2);
  const near = mean + at;
  let ab = f32x4.splat(0);
  let aa = f32x4.splat(0);
  let bb = f32x4.splat(0);
  for (let k = -half; k <= half; k++) {
    const off = <usize>(k << 2);
    const a = v128.load(near + off);
    const p = v128.load(far + off);
    const b = f32x4.add(p, f32x4.mul(part, f32x4.sub(v128.load(far + off + 4), p)));
    ab = f32x4.add(ab, f32x4.mul(a, b));
    aa = f32x4.add(aa, f32x4.mul(a, a));
    bb = f32x4.add(bb, f32x4.mul(b, b));
  }
  return scored(ab, aa, bb);
}

/** Least correlation that counts. */
const leastAlike: f32 = 0.55;

function scored(ab: v128, aa: v128, bb: v128): v128 {
  const zero = f32x4.splat(0);
  const both = f32x4.mul(aa, bb);
  const needed = f32x4.mul(f32x4.splat(leastAlike * leastAlike), both);
  const good = v128.and(f32x4.ge(f32x4.mul(ab, ab), needed), v128.and(f32x4.gt(ab, zero), f32x4.gt(both, zero)));
  if (!v128.any_true(good)) return zero;
  const taps = 2 * half + 1;
  const rms = f32x4.sqrt(f32x4.div(f32x4.pmin(aa, bb), f32x4.splat(f32(taps))));
  return v128.and(good, f32x4.mul(f32x4.div(ab, f32x4.sqrt(both)), rms));
}

/** Takes the scores of four turned places over, where they are the best so far. */
function takeFour(j: i32, i: i32, values: v128, c: f64, s: f64, index: i32): void {
  const middle = f64(size - 1) / 2;
  const u = f64(i) - middle;
  const v = f64(j) - middle;
  const x = f64(widthPx - 1) / 2 + v * c + u * s;
  const y = f64(heightPx - 1) / 2 - v * s + u * c;
  take(f32x4.extract_lane(values, 0), x, y, c, s, index);
  take(f32x4.extract_lane(values, 1), x + s, y + c, c, s, index);
  take(f32x4.extract_lane(values, 2), x + 2 * s, y + 2 * c, c, s, index);
  take(f32x4.extract_lane(values, 3), x + 3 * s, y + 3 * c, c, s, index);
}

/** Takes a score over at those of the plan pixels round (x, y) to which its turned place is the nearest. */
function take(value: f32, x: f64, y: f64, c: f64, s: f64, index: i32): void {
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

/**
 * Scores each turn that is left, and the direction square to it: `turns` and as many.
 * @returns how many this thread has scored
 */
export function scoreTurns(turns: i32): i32 {
  let count = 0;
  for (let k = takeTurn(); k < turns; k = takeTurn()) {
    count++;
    const c = load<f64>(turnsAt + <usize>(k << 4));
    const s = load<f64>(turnsAt + <usize>(k << 4), 8);
    makeFlip(c, s);
    scoreDirection(k, c, s, false);
    scoreDirection(k + turns, -s, c, true);
  }
  return count;
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
    spanLo = load<i32>(span);
    spanHi = j < size ? load<i32>(span, 4) : 0;
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

/** Sides of the blocks of the turned picture that are scored or passed over: across the track, and along it. */
const blockWidth: i32 = 32;
const blockHeight: i32 = 16;

function blocksAcross(): i32 {
  return size / blockWidth + 2;
}

function blocksAlong(): i32 {
  return size / blockHeight + 2;
}

/** Cells are four pixels square: what of a block is scored. */
function cellsAcross(): i32 {
  return (size >> 2) + 2;
}

/** Whether the cell with the turned place (i, j) has wanted pixels. */
function isMarked(i: i32, j: i32): bool {
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

/**
 * Scores each turn that is left where it is wanted.
 * @returns how many this thread has scored
 */
export function scoreWantedTurns(turns: i32): i32 {
  let count = 0;
  for (let k = takeTurn(); k < turns; k = takeTurn()) {
    count++;
    scoreWanted(k, load<f64>(turnsAt + <usize>(k << 4)), load<f64>(turnsAt + <usize>(k << 4), 8));
  }
  return count;
}

/** Scores a direction where it is wanted, and takes over what is better than all before. */
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

/** Marks the cells, and the blocks, of the turned picture that have wanted pixels; blocks column by column, cells by row. */
function markBlocks(index: i32, c: f64, s: f64): void {
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
    spanLo = max(spanLo, lo - 1);
    spanHi = min(spanHi, hi + 1);
    for (let i = spanLo; i < spanHi; i += piece)
      turnPiece(line, startX(j, c, s), startY(j, c, s), i, min(i + piece, spanHi), c, s);
    closeSpan(line, spanLo, spanHi);
    slopeRow(line, place, lo, hi);
    meanRow(place, products, lo, hi);
    if (j - alongHalf >= j0 && ((j - alongHalf) & 1) == 0) compareRow(j - alongHalf, i0, i1, c, s, index);
  }
}
