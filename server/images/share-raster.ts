import type { Raster } from './raster.js';
import { sharedBytes } from './spare-memory.js';

/** The same picture in memory that several threads see, so that handing it to another thread copies nothing. */
export function sharedRaster(raster: Raster): Raster {
  if (raster.data.buffer instanceof SharedArrayBuffer) return raster;
  const data = sharedBytes(raster.data.length);
  data.set(raster.data);
  return { ...raster, data };
}
