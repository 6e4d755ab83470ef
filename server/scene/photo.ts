import type { Raster } from '../images/raster.js';

/** One decoded photo, upright (EXIF orientation applied once, in stages/photo). Its pixels are the photo frame. */
export interface Photo {
  /** The file's name as the user knows it, without folders. */
  readonly name: string;
  /** Three channels, sRGB-coded. */
  readonly raster: Raster;
  readonly exif: PhotoExif;
}

/** What the file says about the camera; every field may be missing or wrong. */
export interface PhotoExif {
  readonly make: string | null;
  readonly model: string | null;
  /** EXIF tag 0xA405: equivalence over the picture's diagonal of 43.267 mm, a whole number, up to 2 % off. */
  readonly focalLength35mm: number | null;
  /** EXIF tag 0x920A, millimetres. */
  readonly focalLengthMm: number | null;
  /** EXIF tag 0xA404; 1 or null when nothing was zoomed. */
  readonly digitalZoomRatio: number | null;
  /** EXIF tags 0xA002 and 0xA003: width and height as the camera stored the picture; what edits it may leave them behind. */
  readonly storedSizePx: readonly [number, number] | null;
}
