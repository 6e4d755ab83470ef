import type { Photo } from '../../scene/photo.js';

/** What is not known of the lens behind a photo of which a part was cut away after it was taken. */
export interface Cropping {
  /** Standard uncertainty of where the lens's axis met the photo, about its middle; x and y, pixels. */
  readonly centreUPx: readonly [number, number];
  /** Diagonal of the picture as it was taken, pixels, and its standard uncertainty as a share. */
  readonly diagonalPx: number;
  readonly diagonalUShare: number;
}

/** Width over height of what cameras take, the longer side first: common practice, no source. */
const takenShapes = [1, 5 / 4, 4 / 3, 3 / 2, 16 / 9, 18 / 9, 18.5 / 9, 19 / 9, 19.5 / 9, 20 / 9];
const shapeTolerance = 0.013;
/** Where nothing tells what was cut off: usually a tenth or two of a side, at one border or another (a guess). */
const usualCutShare = 0.08;
const usualDiagonal = { times: 1.1, uShare: 0.1 };
/** A picture this little smaller than the camera stored it lost nothing that matters. */
const sameShare = 0.005;

/**
 * Whether something was cut off a photo, told by its shape and by what the file says of its size.
 * @returns null when it looks whole
 */
export function croppingOf({ raster, exif }: Pick<Photo, 'raster' | 'exif'>): Cropping | null {
  const { widthPx, heightPx } = raster;
  const stored = exif.storedSizePx && asLying(exif.storedSizePx, widthPx, heightPx);
  // What edits a photo often writes its own size.
  if (stored && (stored[0] !== widthPx || stored[1] !== heightPx)) {
    const isSameShape = Math.abs((stored[0] * heightPx) / (stored[1] * widthPx) - 1) < shapeTolerance;
    if (isSameShape) return null;
    const [left, over] = [stored[0] - widthPx, stored[1] - heightPx];
    // Of one that was cropped and then made smaller the file does not tell how much of which.
    if (left >= 0 && over >= 0 && Math.max(left / widthPx, over / heightPx) < 1) {
      const spread = (cut: number, side: number): number => Math.max(cut / Math.sqrt(12), sameShare * side);
      return {
        centreUPx: [spread(left, widthPx), spread(over, heightPx)],
        diagonalPx: Math.hypot(...stored),
        diagonalUShare: 0,
      };
    }
  }
  const shape = Math.max(widthPx, heightPx) / Math.min(widthPx, heightPx);
  if (takenShapes.some((taken) => Math.abs(shape / taken - 1) < shapeTolerance)) return null;
  return unknownCropping({ raster });
}

/** Of a photo that was cropped nobody knows how. */
export function unknownCropping({ raster: { widthPx, heightPx } }: Pick<Photo, 'raster'>): Cropping {
  return {
    centreUPx: [usualCutShare * widthPx, usualCutShare * heightPx],
    diagonalPx: usualDiagonal.times * Math.hypot(widthPx, heightPx),
    diagonalUShare: usualDiagonal.uShare,
  };
}

/** A size turned so that it lies or stands as another. */
function asLying([a, b]: readonly [number, number], widthPx: number, heightPx: number): [number, number] {
  return widthPx >= heightPx ? [Math.max(a, b), Math.min(a, b)] : [Math.min(a, b), Math.max(a, b)];
}
