// What the parts of rail-likeness.ts share: the picture's size, what is looked for, and where everything lies in memory.
// Set by makeRoom alone.

/** Places kept free beyond both ends of each row, so that vectors and lags may reach past them. */
export let margin: i32 = 0;

/** Rows that are averaged along the track on each side of the middle. */
export let alongHalf: i32 = 12;

export let grey: usize = 0;
export let widthPx: i32 = 0;
export let heightPx: i32 = 0;
export let size: i32 = 0;
export let tiles: usize = 0;
export let tilesAcross: i32 = 0;
export let tilesDown: i32 = 0;
export let codes: usize = 0;
export let ring: usize = 0;
export let sums: usize = 0;
export let mean: usize = 0;
export let energy: usize = 0;
export let power: usize = 0;
export let shared: usize = 0;
export let products: usize = 0;
export let quads: usize = 0;
export let spans: usize = 0;
export let lines: usize = 0;
export let lineSpans: usize = 0;
export let sides: usize = 0;
export let dots: usize = 0;
export let mixes: usize = 0;
export let flipSpans: usize = 0;
export let flip: usize = 0;
export let wishes: usize = 0;
export let stride: i32 = 0;
export let half: i32 = 0;
export let three: bool = false;
export let lag0: i32 = 0;
export let lagLeft: i32 = 0;
export let lagRight: i32 = 0;
export let least: f32 = 0;
export let steepest: f32 = 0;
export let lag: f64 = 0;

/**
 * Sets the picture's size and what is looked for, and makes room for it.
 * @param picture where the picture is that another thread has made room for; 0 to make room
 * @param tileCount tiles of the plan that have room for scores; 0 where all have
 */
export function makeRoom(
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
): void {
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
}

/** Bytes of a tile's scores, and of its wishes: 32 × 32 pixels, and 16 × 16 places. */
export const tileBytes: usize = 4096;

export const wishBytes: usize = 1024;

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

/** Where the cosine and the sine of each turn are, double precision. */
export const turnsAt: usize = 128;

export function reserve(at: usize): void {
  const pages = <i32>((at + 65535) >> 16);
  if (pages > memory.size()) memory.grow(pages - memory.size());
}

/** Where the photo covers the plan: sides of a polygon round it, each a normal and how far out it lies along that. */
export const sideCount: i32 = 16;

/** Rows that are turned together, in pieces, so that the plan's pixels stay in the processor's cache. */
export const batch: i32 = 16;

/** Products of sums kept while a place is looked at: so many lags may be tried. */
export const dotRoom: i32 = 32;
