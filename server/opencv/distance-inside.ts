import { assert } from '../base/assert.js';
import type { Raster } from '../images/raster.js';
import { type LoadedOpenCv, loadOpenCv } from './load-opencv.js';
import { withMats } from './with-mats.js';

/**
 * Distance, px, of every pixel of a mask from the nearest pixel outside it, centre to centre: 0 outside, 1 at the rim;
 * Infinity where the whole picture is inside. The picture's own rim is no border.
 * @param mask one channel; 0 is outside
 * @returns row by row
 */
export async function distanceInside(mask: Raster): Promise<Float32Array> {
  assert(mask.channels === 1, 'one channel expected', mask.channels);
  if (mask.data.every((value) => value !== 0)) return new Float32Array(mask.data.length).fill(Number.POSITIVE_INFINITY);
  return distanceWith(await loadOpenCv(), mask);
}

function distanceWith(opencv: LoadedOpenCv, { widthPx, heightPx, data }: Raster): Float32Array {
  const { cv } = opencv;
  return withMats(opencv, (keep) => {
    const source = keep(new cv.Mat(heightPx, widthPx, cv.CV_8UC1));
    source.data.set(data);
    const target = keep(new cv.Mat());
    cv.distanceTransform(source, target, cv.DIST_L2, cv.DIST_MASK_PRECISE);
    return target.data32F.slice();
  });
}
