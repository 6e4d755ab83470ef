// How much narrow cuts darken a rail that was unrolled: the inner loops of server/stages/joints/slit-trail.ts, which says
// what is looked for. AssemblyScript, with four columns in each vector, in single precision.
// `node server/kernels/build.mjs` compiles it.

let rows: i32 = 0;
let columns: i32 = 0;
/** Columns and what fills the last vector, which is 0; and bytes of a row. */
let stride: i32 = 0;
let rowBytes: usize = 0;

let strip: usize = 0;
let shifts: usize = 0;
let taps: usize = 0;
let root: usize = 0;
let windows: usize = 0;
let own: usize = 0;
let sides: usize = 0;
let tilt: usize = 0;
let levels: usize = 0;
let chosen: usize = 0;
let weights: usize = 0;
let cut: usize = 0;
let sizes: usize = 0;
let covariance: usize = 0;
let darkening: usize = 0;
let beside: usize = 0;
let aside: usize = 0;

/**
 * Makes room for a strip and for what is worked out of it.
 * @param shiftRows rows that have one shift
 * @param mostTaps odd
 * @param mostRows that one block looks at
 * @returns where the strip goes: rows × columns single-precision numbers
 */
export function prepare(
  firstByte: usize,
  rowCount: i32,
  columnCount: i32,
  shiftRows: i32,
  mostTaps: i32,
  mostRows: i32,
): usize {
  rows = rowCount;
  columns = columnCount;
  stride = (columns + 3) & ~3;
  rowBytes = <usize>stride * 4;
  const all = rowBytes * <usize>rows;
  let at = (firstByte + 15) & ~15;
  shifts = at;
  at = aligned(at + <usize>((rows + shiftRows - 1) / shiftRows) * <usize>columns * 4);
  taps = at;
  at = aligned(at + <usize>mostTaps * 4);
  levels = at;
  at += rowBytes;
  weights = at;
  at += rowBytes;
  chosen = at;
  at += rowBytes;
  sizes = at;
  at = aligned(at + <usize>mostRows * 4);
  covariance = at;
  at += rowBytes * <usize>stride;
  darkening = at;
  at += <usize>mostRows * 8;
  beside = at;
  at += <usize>mostRows * 8;
  aside = at;
  at = aligned(at + <usize>mostRows * 8);
  cut = at;
  at += rowBytes * <usize>mostRows;
  root = at;
  at += all;
  windows = at;
  at += all;
  own = at;
  at += all;
  sides = at;
  at += all;
  tilt = at;
  at += all;
  strip = at;
  at += <usize>rows * <usize>columns * 4;
  const pages = <i32>((at + 65535) >> 16);
  if (pages > memory.size()) memory.grow(pages - memory.size());
  return strip;
}

function aligned(at: usize): usize {
  return (at + 15) & ~15;
}

export function shiftsAt(): usize {
  return shifts;
}
export function tapsAt(): usize {
  return taps;
}
export function chosenAt(): usize {
  return chosen;
}
export function levelsAt(): usize {
  return levels;
}
export function weightsAt(): usize {
  return weights;
}
export function covarianceAt(): usize {
  return covariance;
}
export function darkeningAt(): usize {
  return darkening;
}
export function besideAt(): usize {
  return beside;
}
export function asideAt(): usize {
  return aside;
}

/** Root brightness at each row and column, read `shift` rows farther on. Beyond the photo the rail is taken to go on alike. */
export function readStrip(shiftRows: i32): void {
  const last = <f32>rows - 1.001;
  for (let i = 0; i < rows; i++) {
    const shift = shifts + <usize>((i / shiftRows) * columns) * 4;
    const to = root + <usize>i * rowBytes;
    for (let k = 0; k < columns; k++) {
      const q = max<f32>(0, min<f32>(last, <f32>i + load<f32>(shift + <usize>k * 4)));
      const j = <i32>q;
      const from = strip + <usize>(j * columns + k) * 4;
      const a = load<f32>(from);
      const v = a + (q - <f32>j) * (load<f32>(from + <usize>columns * 4) - a);
      let r: f32;
      if (v == v) r = sqrt<f32>(max<f32>(0, v));
      else r = i > 0 ? load<f32>(to + <usize>k * 4 - rowBytes) : 0;
      store<f32>(to + <usize>k * 4, r);
    }
    for (let k = columns; k < stride; k++) store<f32>(to + <usize>k * 4, 0);
  }
}

/** Sum of some rows of a vector's columns. */
function sumOf(at: usize, from: i32, to: i32): v128 {
  let sum = f32x4.splat(0);
  let p = at + <usize>from * rowBytes;
  for (let i = from; i <= to; i++, p += rowBytes) sum = f32x4.add(sum, v128.load(p));
  return sum;
}

function clamped(i: i32): i32 {
  return max(0, min(rows - 1, i));
}

/**
 * Smooths along the run, and takes the means of the rows from `near` to `far` on both sides.
 * @param tapCount odd; the taps are in their place
 */
export function smooth(tapCount: i32, near: i32, far: i32): void {
  const half = tapCount >> 1;
  const width = far - near + 1;
  for (let i = 0; i + width <= rows; i++)
    for (let v: usize = 0; v < rowBytes; v += 16)
      v128.store(windows + <usize>i * rowBytes + v, sumOf(root + v, i, i + width - 1));
  const share = f32x4.splat(<f32>1 / <f32>width);
  for (let i = 0; i < rows; i++) {
    const inside = i >= half && i + half < rows;
    const whole = i >= far && i + far < rows;
    for (let v: usize = 0; v < rowBytes; v += 16) {
      const at = <usize>i * rowBytes + v;
      let sum = f32x4.splat(0);
      let p = root + at - <usize>half * rowBytes;
      for (let h = 0; h < tapCount; h++, p += rowBytes) {
        const from = inside ? p : root + v + <usize>clamped(i + h - half) * rowBytes;
        sum = f32x4.add(sum, f32x4.mul(v128.load32_splat(taps + <usize>h * 4), v128.load(from)));
      }
      v128.store(own + at, sum);
      const before = whole
        ? f32x4.mul(v128.load(windows + at - <usize>far * rowBytes), share)
        : meanOf(root + v, i - far, i - near);
      const after = whole
        ? f32x4.mul(v128.load(windows + at + <usize>near * rowBytes), share)
        : meanOf(root + v, i + near, i + far);
      v128.store(sides + at, f32x4.mul(f32x4.add(before, after), f32x4.splat(0.5)));
      v128.store(tilt + at, f32x4.sub(before, after));
    }
  }
}

function meanOf(at: usize, a: i32, b: i32): v128 {
  const from = clamped(a);
  const to = max(from, min(rows - 1, b));
  return f32x4.div(sumOf(at, from, to), f32x4.splat(<f32>(to - from + 1)));
}

/**
 * Levels of all columns between two rows, and the covariance of the chosen ones' relative darkening there, without their
 * means; what lies far off is cut down.
 * @param count of columns that are chosen
 * @param every so many rows are looked at
 */
export function weigh(a: i32, b: i32, count: i32, every: i32, leastLevel: f32, cutAt: f32): void {
  const share = f32x4.splat(<f32>1 / <f32>(b - a));
  for (let v: usize = 0; v < rowBytes; v += 16)
    v128.store(levels + v, f32x4.max(f32x4.splat(leastLevel), f32x4.mul(sumOf(sides + v, a, b - 1), share)));
  const looked = (b - a) / every;
  const width = (count + 3) & ~3;
  const bytes = <usize>width * 4;
  for (let p = 0; p < width; p++) {
    const to = cut + <usize>p * 4;
    if (p >= count) {
      for (let i = 0; i < looked; i++) store<f32>(to + <usize>i * bytes, 0);
      continue;
    }
    const k = <usize>load<i32>(chosen + <usize>p * 4) * 4;
    const level = load<f32>(levels + k);
    let from = <usize>a * rowBytes + k;
    for (let i = 0; i < looked; i++, from += rowBytes * <usize>every) {
      const d = (load<f32>(sides + from) - load<f32>(own + from)) / level;
      store<f32>(to + <usize>i * bytes, d);
      store<f32>(sizes + <usize>i * 4, abs<f32>(d));
    }
    const most = cutAt * (<f32>1.4826 * selected(looked, looked >> 1) + <f32>1e-3);
    for (let i = 0; i < looked; i++) {
      const d = load<f32>(to + <usize>i * bytes);
      store<f32>(to + <usize>i * bytes, max<f32>(-most, min<f32>(most, d)));
    }
  }
  for (let p = 0; p < width; p += 4)
    for (let q = 0; q <= p; q += 4) addProducts(looked, bytes, <usize>p * 4, <usize>q * 4);
}

/** Sums of the products of four columns with four others, over all rows that are looked at. */
function addProducts(looked: i32, bytes: usize, p: usize, q: usize): void {
  let s0 = f32x4.splat(0);
  let s1 = f32x4.splat(0);
  let s2 = f32x4.splat(0);
  let s3 = f32x4.splat(0);
  let at = cut;
  for (let i = 0; i < looked; i++, at += bytes) {
    const other = v128.load(at + q);
    s0 = f32x4.add(s0, f32x4.mul(v128.load32_splat(at + p), other));
    s1 = f32x4.add(s1, f32x4.mul(v128.load32_splat(at + p, 4), other));
    s2 = f32x4.add(s2, f32x4.mul(v128.load32_splat(at + p, 8), other));
    s3 = f32x4.add(s3, f32x4.mul(v128.load32_splat(at + p, 12), other));
  }
  const share = f32x4.splat(<f32>1 / <f32>looked);
  const to = covariance + (p >> 2) * bytes + q;
  v128.store(to, f32x4.mul(s0, share));
  v128.store(to + bytes, f32x4.mul(s1, share));
  v128.store(to + 2 * bytes, f32x4.mul(s2, share));
  v128.store(to + 3 * bytes, f32x4.mul(s3, share));
}

/** The value of a rank among the sizes, which are put in another order (Hoare 1961, Comm. ACM 4:321, FIND). */
function selected(count: i32, rank: i32): f32 {
  let low = 0;
  let high = count - 1;
  while (low < high) {
    const pivot = load<f32>(sizes + <usize>((low + high) >> 1) * 4);
    let i = low;
    let j = high;
    while (i <= j) {
      while (load<f32>(sizes + <usize>i * 4) < pivot) i++;
      while (load<f32>(sizes + <usize>j * 4) > pivot) j--;
      if (i > j) break;
      const swapped = load<f32>(sizes + <usize>i * 4);
      store<f32>(sizes + <usize>i * 4, load<f32>(sizes + <usize>j * 4));
      store<f32>(sizes + <usize>j * 4, swapped);
      i++;
      j--;
    }
    if (rank <= j) high = j;
    else if (rank >= i) low = i;
    else break;
  }
  return load<f32>(sizes + <usize>rank * 4);
}

function total(v: v128): f32 {
  return f32x4.extract_lane(v, 0) + f32x4.extract_lane(v, 1) + (f32x4.extract_lane(v, 2) + f32x4.extract_lane(v, 3));
}

/**
 * Adds the columns up by their weights, which are in their place (over their levels; 0 for those not chosen): how much
 * each row between a and b is darker than its sides, how much its sides are darker than the levels, and how much darker
 * the side after it is than the side before it.
 */
export function combine(a: i32, b: i32): void {
  let whole = f32x4.splat(0);
  for (let v: usize = 0; v < rowBytes; v += 16)
    whole = f32x4.add(whole, f32x4.mul(v128.load(weights + v), v128.load(levels + v)));
  const level = total(whole);
  for (let i = a; i < b; i++) {
    let dark = f32x4.splat(0);
    let side = f32x4.splat(0);
    let lean = f32x4.splat(0);
    const at = <usize>i * rowBytes;
    for (let v: usize = 0; v < rowBytes; v += 16) {
      const w = v128.load(weights + v);
      const s = v128.load(sides + at + v);
      dark = f32x4.add(dark, f32x4.mul(w, f32x4.sub(s, v128.load(own + at + v))));
      side = f32x4.add(side, f32x4.mul(w, s));
      lean = f32x4.add(lean, f32x4.mul(w, v128.load(tilt + at + v)));
    }
    const to = <usize>(i - a) * 8;
    store<f64>(darkening + to, total(dark));
    store<f64>(beside + to, level - total(side));
    store<f64>(aside + to, total(lean));
  }
}
