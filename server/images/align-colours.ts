import type { Raster } from './raster.js';
import { sharedBytes } from './spare-memory.js';

/** How much larger red and blue are drawn than green, from the middle of the picture: 1 where they are drawn alike. */
export interface ColourScales {
  readonly red: number;
  readonly blue: number;
}

/** Shares of red, green and blue in luma (ITU-R BT.601). */
const lumaShare = [0.299, 0.587, 0.114] as const;

/**
 * The picture with its colours drawn alike large, in shared memory. Photos carry colour at half the resolution of
 * brightness, so that fine detail of all colours lies where brightness has it and only what is coarser is displaced: it is
 * moved at half the resolution, to where brightness is, and what that changes is added.
 */
export function alignColours(raster: Raster, { red, blue }: ColourScales): Raster {
  const brightness = lumaShare[0] * red + lumaShare[1] + lumaShare[2] * blue;
  const { widthPx, heightPx, data } = raster;
  const [across, down] = [widthPx >> 1, heightPx >> 1];
  const aligned = sharedBytes(data.length);
  [red, 1, blue].forEach((scale, colour) => {
    const half = halved(raster, colour);
    const change = changeWhenMoved(half, across, down, scale / brightness);
    for (let y = 0; y < heightPx; y++)
      addRow(aligned, data, 3 * y * widthPx + colour, widthPx, change, across, down, y);
  });
  return { ...raster, data: aligned };
}

/** One colour, the means of squares of two by two pixels. */
function halved({ widthPx, heightPx, data }: Raster, colour: number): Float32Array {
  const [across, down] = [widthPx >> 1, heightPx >> 1];
  const half = new Float32Array(across * down);
  for (let y = 0, to = 0; y < down; y++) {
    let at = 6 * y * widthPx + colour;
    const row = 3 * widthPx;
    for (let x = 0; x < across; x++, to++, at += 6)
      half[to] = (data[at] + data[at + 3] + data[at + row] + data[at + row + 3]) / 4;
  }
  return half;
}

/** How much each value changes when the picture is drawn 1 / scale as large, bilinear, the border repeated. */
function changeWhenMoved(half: Float32Array, across: number, down: number, scale: number): Float32Array {
  const change = new Float32Array(half.length);
  const columns = knotsAlong(across, scale);
  const rows = knotsAlong(down, scale);
  for (let y = 0, to = 0; y < down; y++) {
    const above = rows.before[y] * across;
    const part = rows.part[y];
    for (let x = 0; x < across; x++, to++) {
      const at = above + columns.before[x];
      const right = columns.part[x];
      const upper = half[at] + right * (half[at + 1] - half[at]);
      const lower = half[at + across] + right * (half[at + across + 1] - half[at + across]);
      change[to] = upper + part * (lower - upper) - half[to];
    }
  }
  return change;
}

/** Between which values each lies when the row is drawn 1 / scale as long: the one before, and how far on to the next. */
function knotsAlong(count: number, scale: number): { before: Int32Array; part: Float32Array } {
  const before = new Int32Array(count);
  const part = new Float32Array(count);
  const middle = (count - 1) / 2;
  for (let i = 0; i < count; i++) {
    const place = Math.min(count - 1, Math.max(0, middle + scale * (i - middle)));
    before[i] = Math.min(count - 2, Math.floor(place));
    part[i] = place - before[i];
  }
  return { before, part };
}

/** Adds the change, found at half the resolution, to one row: three quarters of the nearest value, a quarter of the next. */
function addRow(
  out: Uint8Array,
  data: Uint8Array,
  first: number,
  widthPx: number,
  change: Float32Array,
  across: number,
  down: number,
  y: number,
): void {
  const near = Math.min(down - 1, y >> 1) * across;
  const far = Math.max(0, Math.min(down - 1, (y >> 1) + (y % 2 === 0 ? -1 : 1))) * across;
  for (let x = 0, at = first; x < widthPx; x++, at += 3) {
    const here = Math.min(across - 1, x >> 1);
    const beside = Math.max(0, Math.min(across - 1, (x >> 1) + (x % 2 === 0 ? -1 : 1)));
    const change16 = 9 * change[near + here] + 3 * (change[near + beside] + change[far + here]) + change[far + beside];
    out[at] = Math.max(0, Math.min(255, Math.round(data[at] + change16 / 16)));
  }
}
