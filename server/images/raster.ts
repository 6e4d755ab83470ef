/**
 * A picture in memory, row by row from the top left, channels interleaved. Pixel centres are at integers: the centre of
 * the first pixel is (0, 0). Never changed after it is made.
 */
export interface Raster {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly channels: 1 | 3;
  readonly data: Uint8Array;
}
