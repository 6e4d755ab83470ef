import type { Raster } from './raster.js';

/** The same picture in memory that several threads see, so that handing it to another thread copies nothing. */
export function sharedRaster(raster: Raster): Raster {
  if (raster.data.buffer instanceof SharedArrayBuffer) return raster;
  const data = new Uint8Array(new SharedArrayBuffer(raster.data.length));
  data.set(raster.data);
  return { ...raster, data };
}
