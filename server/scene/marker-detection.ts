import type { PhotoPoint } from '../geometry/frames.js';

/** One marker of the family 36h11 read in a photo. */
export interface MarkerDetection {
  readonly id: number;
  /**
   * Outer corners of the black square, in the tag's own order as printed: upper left, upper right, lower right, lower
   * left. Sub-pixel, looked for in linear light, with the widening of bright areas taken out.
   */
  readonly cornersInPhoto: readonly [PhotoPoint, PhotoPoint, PhotoPoint, PhotoPoint];
  /** Standard uncertainty of one coordinate of one corner, from the residuals of the edge fit. */
  readonly sigmaPx: number;
  /** Root mean square residual of the edge points, a sign of a curled sheet or blur. */
  readonly residualPx: number;
  /** Code bits that had to be corrected. */
  readonly wrongBits: number;
  /** Paper beside the square is clipped white, so that bright areas reach further than the model can undo. */
  readonly clippedWhite: boolean;
}
