import { assert } from '../base/assert.js';
import { wasmBase64 } from './grey-pyramid-kernel.js';
import { type KernelExports, loadKernel } from './load-kernel.js';
import type { Raster } from './raster.js';
import { giveBack, sharedBytes } from './spare-memory.js';

/** What server/kernels/grey-pyramid.ts exports. */
interface Kernel extends KernelExports {
  prepare(firstByte: number, readBytes: number, writeBytes: number): number;
  writtenAt(): number;
  grey(count: number): void;
  halve(width: number, halfWidth: number, halfRows: number): void;
}

const kernel = loadKernel<Kernel>(wasmBase64);
let shared: Kernel | undefined;

/** The first bytes of the kernel's memory are its own. */
const firstFreeByte = 4096;

/** Pictures are worked on so many bytes at a time, about: as much as stays in a processor's cache. */
const bandBytes = 3 << 17;

/** The kernel with room for bands: their place in its memory, and that of what it makes of them. */
function bands(readBytes: number, writeBytes: number): { run: Kernel; read: Uint8Array; written: Uint8Array } {
  shared ??= kernel.instance();
  const at = shared.prepare(firstFreeByte, readBytes, writeBytes);
  const { buffer } = shared.memory;
  return {
    run: shared,
    read: new Uint8Array(buffer, at, readBytes),
    written: new Uint8Array(buffer, shared.writtenAt(), writeBytes),
  };
}

/**
 * Luma of an sRGB-coded picture (ITU-R BT.601, the weights of JPEG), rounded to whole codes. The input is not changed.
 * Less than 1 ms a megapixel.
 */
export function greyFromRgb(raster: Raster): Raster {
  const { widthPx, heightPx, channels, data } = raster;
  if (channels === 1) return raster;
  const grey = sharedBytes(widthPx * heightPx);
  const most = Math.floor(bandBytes / 3);
  const { run, read, written } = bands(3 * most, most);
  for (let from = 0; from < grey.length; from += most) {
    const count = Math.min(most, grey.length - from);
    read.set(data.subarray(3 * from, 3 * (from + count)));
    run.grey(count);
    grey.set(written.subarray(0, count), from);
  }
  return { widthPx, heightPx, channels: 1, data: grey };
}

/**
 * Half the size, each pixel the mean of four; an odd last row or column is dropped. A point q of the half picture lies
 * at (q + 0.5)·2 − 0.5 in the whole one.
 */
export function halveGrey(raster: Raster): Raster {
  assert(raster.channels === 1, 'one channel expected', raster.channels);
  const widthPx = raster.widthPx >> 1;
  const heightPx = raster.heightPx >> 1;
  const { data, widthPx: stride } = raster;
  const half = sharedBytes(widthPx * heightPx);
  const most = Math.max(1, Math.floor(bandBytes / (2 * stride)));
  const { run, read, written } = bands(2 * most * stride, most * widthPx);
  for (let y = 0; y < heightPx; y += most) {
    const rows = Math.min(most, heightPx - y);
    read.set(data.subarray(2 * y * stride, 2 * (y + rows) * stride));
    run.halve(stride, widthPx, rows);
    half.set(written.subarray(0, rows * widthPx), y * widthPx);
  }
  return { widthPx, heightPx, channels: 1, data: half };
}

/**
 * Twice the size, linear between the pixels. A point q of the doubled picture lies at (q + 0.5)/2 − 0.5 in the whole one
 * (`fromPyramidLevel` with level −1).
 */
export function doubleGrey(raster: Raster): Raster {
  assert(raster.channels === 1, 'one channel expected', raster.channels);
  const { widthPx, heightPx, data } = raster;
  const doubled = new Uint8Array(4 * widthPx * heightPx);
  for (let y = 0; y < 2 * heightPx; y++) {
    // Three quarters from the pixel that the place lies in, one quarter from the neighbour on its side.
    const near = (y >> 1) * widthPx;
    const far = Math.max(0, Math.min(heightPx - 1, (y >> 1) + (y % 2 === 0 ? -1 : 1))) * widthPx;
    let to = 2 * y * widthPx;
    let before = 3 * data[near] + data[far];
    let here = before;
    for (let x = 0; x < widthPx; x++) {
      const next = x + 1 < widthPx ? x + 1 : x;
      const after = 3 * data[near + next] + data[far + next];
      doubled[to++] = (3 * here + before + 8) >> 4;
      doubled[to++] = (3 * here + after + 8) >> 4;
      before = here;
      here = after;
    }
  }
  return { widthPx: 2 * widthPx, heightPx: 2 * heightPx, channels: 1, data: doubled };
}

/** On smaller pictures nothing is looked for. */
const leastSideOfLevelsPx = 60;

/** A picture and its halves, down to the last whose shorter side is at least `leastSidePx`; level i is 2^i times smaller. */
export function greyPyramid(grey: Raster, leastSidePx: number): Raster[] {
  const levels = [grey];
  for (;;) {
    const last = levels[levels.length - 1];
    if (Math.min(last.widthPx, last.heightPx) < 2 * leastSidePx) return levels;
    levels.push(halveGrey(last));
  }
}

const kept = new WeakMap<Raster, readonly Raster[]>();

/** The grey pyramid of a picture, its shorter side 60 px and more; made once, and kept as long as the picture. */
export function greyLevels(raster: Raster): readonly Raster[] {
  const known = kept.get(raster);
  if (known) return known;
  const levels = greyPyramid(greyFromRgb(raster), leastSideOfLevelsPx);
  kept.set(raster, levels);
  return levels;
}

/** Keeps the memory of a picture, and of its pyramid, for the next one: nobody may look at them any more. */
export function giveBackLevels(raster: Raster): void {
  giveBack(raster.data);
  for (const level of kept.get(raster) ?? []) giveBack(level.data);
  kept.delete(raster);
}

/** Place on the whole picture of a coordinate on level i of its pyramid (pixel centres at integers on both). */
export function fromPyramidLevel(coordinate: number, level: number): number {
  return (coordinate + 0.5) * 2 ** level - 0.5;
}

/** Place on level i of a coordinate on the whole picture. */
export function toPyramidLevel(coordinate: number, level: number): number {
  return (coordinate + 0.5) / 2 ** level - 0.5;
}
