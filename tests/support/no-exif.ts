import type { PhotoExif } from '../../server/scene/photo.js';

/** What a file says of its camera that says nothing. */
export const noExif: PhotoExif = {
  make: null,
  model: null,
  focalLength35mm: null,
  focalLengthMm: null,
  digitalZoomRatio: null,
  storedSizePx: null,
};
