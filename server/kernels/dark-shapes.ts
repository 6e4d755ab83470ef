// Extremes of small tiles of a grey picture and the runs of its dark pixels: the inner loops of
// server/stages/markers/tile-contrast.ts, which says what is looked for. AssemblyScript, with sixteen pixels in each vector.
// `node server/kernels/build.mjs` compiles it.

const tilePx: i32 = 4;

/** Free tiles at both ends of each row of tiles, and free rows above and below, so that neighbours may be looked at. */
const rim: i32 = 16;

let width: i32 = 0;
let height: i32 = 0;
let columns: i32 = 0;
let rows: i32 = 0;
/** Bytes of a row of tiles. */
let stride: usize = 0;

let grey: usize = 0;
let darkest: usize = 0;
let brightest: usize = 0;
let low: usize = 0;
let high: usize = 0;
let ranges: usize = 0;
let limits: usize = 0;
let firsts: usize = 0;
let spans: usize = 0;

/**
 * Makes room for the tiles of a picture, and for a band of its rows at a time.
 * @param bandRows a multiple of the tiles' side
 * @returns where a band goes
 */
export function prepare(firstByte: usize, widthPx: i32, heightPx: i32, bandRows: i32): usize {
  width = widthPx;
  height = heightPx;
  columns = (width + tilePx - 1) / tilePx;
  rows = (height + tilePx - 1) / tilePx;
  stride = <usize>((columns + 2 * rim + 15) & ~15);
  const tiles = stride * <usize>(rows + 2);
  let at = (firstByte + 15) & ~15;
  ranges = at;
  at += 256 * 4;
  limits = at;
  at = (at + <usize>width + 79) & ~15;
  firsts = at;
  at = (at + <usize>bandRows * 4 + 31) & ~15;
  darkest = at;
  at += tiles;
  brightest = at;
  at += tiles;
  low = at;
  at += tiles;
  high = at;
  at += tiles;
  grey = at;
  at = (at + <usize>width * <usize>bandRows + 79) & ~15;
  spans = at;
  at += <usize>(width / 2 + 1) * <usize>bandRows * 8;
  const pages = <i32>((at + 65535) >> 16);
  if (pages > memory.size()) memory.grow(pages - memory.size());
  memory.fill(darkest, 255, tiles);
  memory.fill(brightest, 0, tiles);
  return grey;
}

/** Where the extremes around the tiles are: `tileStride` bytes from row to row. */
export function lowAt(): usize {
  return low + stride + <usize>rim;
}
export function highAt(): usize {
  return high + stride + <usize>rim;
}
export function tileStride(): usize {
  return stride;
}

/** Finds the extremes of each tile in a band of so many rows of the picture, from row `first` on. */
export function readExtremes(first: i32, bandRows: i32): void {
  for (let y = 0; y < bandRows; y += tilePx) extremesOfRow(y, min(bandRows, y + tilePx) - 1, (first + y) / tilePx);
}

/**
 * Finds the extremes of each tile and its eight neighbours, when those of all tiles were read.
 * @returns difference of brightest and darkest in the middle one of all tiles taken alone
 */
export function spreadExtremes(): i32 {
  spread(darkest, low, true);
  spread(brightest, high, false);
  return medianRange();
}

/** Extremes of the tiles in the rows from first to last of the band. */
function extremesOfRow(first: i32, last: i32, tileRow: i32): void {
  const tile = stride * <usize>(tileRow + 1) + <usize>rim;
  const top = grey + <usize>first * <usize>width;
  const whole = width & ~15;
  for (let x = 0; x < whole; x += 16) {
    let least = v128.load(top + <usize>x);
    let most = least;
    for (let y = first + 1; y <= last; y++) {
      const v = v128.load(grey + <usize>y * <usize>width + <usize>x);
      least = i8x16.min_u(least, v);
      most = i8x16.max_u(most, v);
    }
    // The first byte of each four takes the extreme of the four.
    least = i8x16.min_u(least, i32x4.shr_u(least, 8));
    least = i8x16.min_u(least, i32x4.shr_u(least, 16));
    most = i8x16.max_u(most, i32x4.shr_u(most, 8));
    most = i8x16.max_u(most, i32x4.shr_u(most, 16));
    const at = tile + <usize>(x >> 2);
    v128.store32_lane(darkest + at, i8x16.shuffle(least, least, 0, 4, 8, 12, 0, 4, 8, 12, 0, 4, 8, 12, 0, 4, 8, 12), 0);
    v128.store32_lane(brightest + at, i8x16.shuffle(most, most, 0, 4, 8, 12, 0, 4, 8, 12, 0, 4, 8, 12, 0, 4, 8, 12), 0);
  }
  for (let x = whole; x < width; x++) {
    const at = tile + <usize>(x >> 2);
    for (let y = first; y <= last; y++) {
      const v = load<u8>(grey + <usize>y * <usize>width + <usize>x);
      store<u8>(darkest + at, min(v, load<u8>(darkest + at)));
      store<u8>(brightest + at, max(v, load<u8>(brightest + at)));
    }
  }
}

function medianRange(): i32 {
  memory.fill(ranges, 0, 256 * 4);
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      const at = stride * <usize>(r + 1) + <usize>(rim + c);
      const range = ranges + <usize>(load<u8>(brightest + at) - load<u8>(darkest + at)) * 4;
      store<i32>(range, load<i32>(range) + 1);
    }
  let range = 0;
  let seen = load<i32>(ranges);
  while (2 * seen < columns * rows) seen += load<i32>(ranges + <usize>++range * 4);
  return range;
}

/** The least, or the greatest, of each tile and its eight neighbours; what lies beyond the picture counts for nothing. */
function spread(from: usize, to: usize, least: bool): void {
  for (let r = 1; r <= rows; r++)
    for (let c: usize = 0; c < stride; c += 16) {
      const at = from + stride * <usize>r + c;
      const beside = least
        ? i8x16.min_u(acrossLeast(at), i8x16.min_u(acrossLeast(at - stride), acrossLeast(at + stride)))
        : i8x16.max_u(acrossMost(at), i8x16.max_u(acrossMost(at - stride), acrossMost(at + stride)));
      v128.store(to + stride * <usize>r + c, beside);
    }
}

function acrossLeast(at: usize): v128 {
  return i8x16.min_u(v128.load(at), i8x16.min_u(v128.load(at - 1), v128.load(at + 1)));
}

function acrossMost(at: usize): v128 {
  return i8x16.max_u(v128.load(at), i8x16.max_u(v128.load(at - 1), v128.load(at + 1)));
}

export function firstsAt(): usize {
  return firsts;
}
export function spansAt(): usize {
  return spans;
}

/**
 * Finds the horizontal runs of dark pixels in a band of so many rows of the picture, from row `first` on, in reading order:
 * of each its first pixel and the first after it. The number of runs before each row of the band goes to `firsts`. The
 * extremes around the tiles are in their place.
 * @param leastContrast a tile with a smaller difference holds nothing dark
 * @param fraction where between dark (0) and bright (1) the limit lies
 * @returns how many there are
 */
export function findRuns(first: i32, bandRows: i32, leastContrast: f64, fraction: f64): i32 {
  let count = 0;
  for (let y = 0; y < bandRows; y++) {
    if (y % tilePx == 0) setLimits((first + y) / tilePx, leastContrast, fraction);
    store<i32>(firsts + <usize>y * 4, count);
    count = runsOfRow(y, count);
  }
  return count;
}

function setLimits(row: i32, leastContrast: f64, fraction: f64): void {
  const tile = stride * <usize>(row + 1) + <usize>rim;
  for (let c = 0; c < columns; c++) {
    const dark = <f64>load<u8>(low + tile + <usize>c);
    const range = <f64>load<u8>(high + tile + <usize>c) - dark;
    const limit = range >= leastContrast ? <u32>Math.ceil(dark + range * fraction) : 0;
    store<u32>(limits + <usize>c * 4, limit * 0x01010101);
  }
  // Nothing is dark beyond the picture, to the end of the last vector.
  for (let x = width; x < ((width + 31) & ~15); x++) store<u8>(limits + <usize>x, 0);
}

function runsOfRow(y: i32, before: i32): i32 {
  const row = grey + <usize>y * <usize>width;
  let to = spans + <usize>before * 8;
  let dark: i32 = 0;
  // One vector more than there may be: there a run ends that reaches the side.
  for (let x = 0; x <= width; x += 16) {
    const here = i8x16.bitmask(i8x16.lt_u(v128.load(row + <usize>x), v128.load(limits + <usize>x)));
    // Bits where dark begins or ends.
    let turns = (here ^ ((here << 1) | dark)) & 0xffff;
    while (turns != 0) {
      store<i32>(to, x + ctz(turns));
      to += 4;
      turns &= turns - 1;
    }
    dark = here >> 15;
  }
  return <i32>((to - spans) >> 3);
}
