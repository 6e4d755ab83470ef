import type { Raster } from './raster.js';

/**
 * Memory of pictures that are no longer needed. Taking as much from the system anew costs about as long as decoding the
 * next photo: it hands out each page by itself when it is first written to.
 */
const spare: SharedArrayBuffer[] = [];

/** So much is kept at most: the picture of 12 megapixels, and its grey pyramid. */
const mostSpareBytes = 64 * 2 ** 20;

/** Memory that several threads see; what it holds is anything. Of spare memory that fits less than half is wasted. */
export function sharedBytes(count: number): Uint8Array {
  const at = spare.findIndex(({ byteLength }) => byteLength >= count && byteLength < 2 * count);
  const [buffer] = at < 0 ? [new SharedArrayBuffer(count)] : spare.splice(at, 1);
  return new Uint8Array(buffer, 0, count);
}

/** The same picture in memory that several threads see, so that handing it to another thread copies nothing. */
export function sharedRaster(raster: Raster): Raster {
  if (raster.data.buffer instanceof SharedArrayBuffer) return raster;
  const data = sharedBytes(raster.data.length);
  data.set(raster.data);
  return { ...raster, data };
}

/** Keeps the memory of a shared picture for the next one: nobody may look at the picture any more. */
export function giveBack({ data: { buffer } }: Raster): void {
  if (!(buffer instanceof SharedArrayBuffer) || spare.includes(buffer)) return;
  const bytes = spare.reduce((sum, { byteLength }) => sum + byteLength, buffer.byteLength);
  if (bytes <= mostSpareBytes) spare.push(buffer);
}
