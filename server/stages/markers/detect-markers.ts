import { throwIfCancelled } from '../../base/cancel.js';
import { ok, type Result } from '../../base/result.js';
import type { Problem } from '../../contract/problems.js';
import { photoPoint } from '../../geometry/frames.js';
import { greyFromRgb, greyPyramid } from '../../images/grey-pyramid.js';
import type { MarkerDetection } from '../../scene/marker-detection.js';
import type { Photo } from '../../scene/photo.js';
import { findTags } from './find-tags.js';

export interface DetectMarkersOptions {
  /** Width of the black border, modules: 1, or 2 in older printings. */
  readonly borderModules: 1 | 2;
  /** Code bits that may be corrected, 0…5: the family's distance of 11 allows 5, chance finds ask for fewer. */
  readonly mostWrongBits: number;
  /** Least difference of white paper and black print, 8-bit codes. */
  readonly leastContrast: number;
  readonly signal?: AbortSignal;
}

export const defaultDetectMarkersOptions: DetectMarkersOptions = {
  borderModules: 1,
  mostWrongBits: 2,
  leastContrast: 16,
};

/** The coarsest picture that is searched has a shorter side of this or more, px. */
const COARSEST_SIDE_PX = 60;

/**
 * Finds every fully visible marker of the family AprilTag 36h11 in a photo. No marker is an empty list, not a problem.
 */
export async function detectMarkers(
  photo: Photo,
  options: Partial<DetectMarkersOptions> = {},
): Promise<Result<MarkerDetection[], Problem>> {
  const settings = { ...defaultDetectMarkersOptions, ...options };
  throwIfCancelled(settings.signal);
  const levels = greyPyramid(greyFromRgb(photo.raster), COARSEST_SIDE_PX);
  const tags = findTags(levels, settings, settings.signal);
  const detections = tags.map((tag): MarkerDetection => {
    const corner = (i: number) => photoPoint(tag.quad[2 * i], tag.quad[2 * i + 1]);
    return {
      id: tag.id,
      cornersInPhoto: [corner(0), corner(1), corner(2), corner(3)],
      sigmaPx: 0.7,
      residualPx: 0.7,
      wrongBits: tag.wrongBits,
      clippedWhite: false,
    };
  });
  return ok(detections.sort((a, b) => a.id - b.id));
}
