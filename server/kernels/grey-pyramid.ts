// Luma and halving of pictures, a band of rows at a time: the inner loops of server/images/grey-pyramid.ts.
// AssemblyScript, with sixteen pixels in each vector. `node server/kernels/build.mjs` compiles it.

/** Places after the room given that vectors may reach into. */
const slack: usize = 64;

let from: usize = 0;
let to: usize = 0;

/**
 * Makes room for so many bytes to read and so many to write.
 * @returns where the first go
 */
export function prepare(firstByte: usize, readBytes: usize, writeBytes: usize): usize {
  from = (firstByte + 15) & ~15;
  to = (from + readBytes + slack + 15) & ~15;
  const pages = <i32>((to + writeBytes + slack + 65535) >> 16);
  if (pages > memory.size()) memory.grow(pages - memory.size());
  return from;
}

export function writtenAt(): usize {
  return to;
}

/** Luma of so many pixels of three channels, as (77 r + 150 g + 29 b + 128) / 256. */
export function grey(count: i32): void {
  let p = from;
  for (let i = 0; i < count; i += 16, p += 48) {
    const a = v128.load(p);
    const b = v128.load(p, 16);
    const c = v128.load(p, 32);
    const red = i8x16.shuffle(
      i8x16.shuffle(a, b, 0, 3, 6, 9, 12, 15, 18, 21, 24, 27, 30, 0, 0, 0, 0, 0),
      c,
      0,
      1,
      2,
      3,
      4,
      5,
      6,
      7,
      8,
      9,
      10,
      17,
      20,
      23,
      26,
      29,
    );
    const green = i8x16.shuffle(
      i8x16.shuffle(a, b, 1, 4, 7, 10, 13, 16, 19, 22, 25, 28, 31, 0, 0, 0, 0, 0),
      c,
      0,
      1,
      2,
      3,
      4,
      5,
      6,
      7,
      8,
      9,
      10,
      18,
      21,
      24,
      27,
      30,
    );
    const blue = i8x16.shuffle(
      i8x16.shuffle(a, b, 2, 5, 8, 11, 14, 17, 20, 23, 26, 29, 0, 0, 0, 0, 0, 0),
      c,
      0,
      1,
      2,
      3,
      4,
      5,
      6,
      7,
      8,
      9,
      16,
      19,
      22,
      25,
      28,
      31,
    );
    v128.store(to + <usize>i, i8x16.narrow_i16x8_u(lowLuma(red, green, blue), highLuma(red, green, blue)));
  }
}

function lowLuma(r: v128, g: v128, b: v128): v128 {
  const sum = i16x8.add(
    i16x8.extmul_low_i8x16_u(r, i8x16.splat(77)),
    i16x8.add(i16x8.extmul_low_i8x16_u(g, i8x16.splat(<i8>150)), i16x8.extmul_low_i8x16_u(b, i8x16.splat(29))),
  );
  return i16x8.shr_u(i16x8.add(sum, i16x8.splat(128)), 8);
}

function highLuma(r: v128, g: v128, b: v128): v128 {
  const sum = i16x8.add(
    i16x8.extmul_high_i8x16_u(r, i8x16.splat(77)),
    i16x8.add(i16x8.extmul_high_i8x16_u(g, i8x16.splat(<i8>150)), i16x8.extmul_high_i8x16_u(b, i8x16.splat(29))),
  );
  return i16x8.shr_u(i16x8.add(sum, i16x8.splat(128)), 8);
}

/** Means of 2 × 2 pixels, rounded: so many rows of so many pixels, from rows of `width`. */
export function halve(width: i32, halfWidth: i32, halfRows: i32): void {
  for (let y = 0; y < halfRows; y++) {
    let top = from + <usize>(2 * y * width);
    let at = to + <usize>(y * halfWidth);
    for (let x = 0; x < halfWidth; x += 16, top += 32, at += 16) {
      const left = means(top, <usize>width);
      const right = means(top + 16, <usize>width);
      // The next row is written later: what goes beyond this one is written again.
      v128.store(at, i8x16.narrow_i16x8_u(left, right));
    }
  }
}

function means(top: usize, width: usize): v128 {
  const sum = i16x8.add(
    i16x8.extadd_pairwise_i8x16_u(v128.load(top)),
    i16x8.extadd_pairwise_i8x16_u(v128.load(top + width)),
  );
  return i16x8.shr_u(i16x8.add(sum, i16x8.splat(2)), 2);
}
