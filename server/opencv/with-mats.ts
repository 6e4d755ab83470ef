import type { Mat } from 'opencv-wasm';
import type { LoadedOpenCv } from './load-opencv.js';

/**
 * Runs a computation that makes matrices: whatever is given to `keep` is deleted when it ends, also by a fault. Copy what
 * is to be returned: views of a matrix are empty afterwards. Numbers thrown by the library become errors with its words.
 *
 *     withMats(opencv, (keep) => { const mask = keep(new cv.Mat()); … return mask.data32F.slice(); })
 */
export function withMats<T>({ errorText }: LoadedOpenCv, use: (keep: <M extends Mat>(mat: M) => M) => T): T {
  const mats: Mat[] = [];
  try {
    return use((mat) => {
      mats.push(mat);
      return mat;
    });
  } catch (thrown) {
    if (thrown instanceof Error) throw thrown;
    throw new Error(`OpenCV: ${errorText(thrown)}`);
  } finally {
    for (const mat of mats) mat.delete();
  }
}
