import { throwIfCancelled } from '../../base/cancel.js';
import { ok, type Result } from '../../base/result.js';
import type { Problem } from '../../contract/problems.js';
import { photoPoint } from '../../geometry/frames.js';
import { doubleGrey, fromPyramidLevel, greyLevels } from '../../images/grey-pyramid.js';
import type { Raster } from '../../images/raster.js';
import type { MarkerDetection } from '../../scene/marker-detection.js';
import type { Photo } from '../../scene/photo.js';
import { type FoundTag, findTags } from './find-tags.js';
import { fitSmallMarker } from './fit-small-marker.js';
import type { RadialLens } from './marker-model.js';
import type { MarkerSolution } from './marker-state.js';
import { refineMarkers } from './refine-markers.js';
import { CODE_SIDE, familyGrids } from './tag-family.js';
import { shortestSidePx } from './tag-plane.js';

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

/**
 * Up to this many pixels a picture is also searched at twice its size, where modules of two pixels part: that takes no
 * longer than a picture of the usual 12 megapixels.
 */
const MOST_DOUBLED_PX2 = 3.2e6;
/** Smaller tags are not told from noise, px. */
const LEAST_SIDE_PX = 9;
/** Narrower modules have no edges of their own: the marker is fitted as a whole. */
const SMALL_MODULE_PX = 6;
/** The same in standard deviations of the blur. */
const LEAST_MODULE_BLURS = 5;
/** A corner that moved by more than this, modules, from where it was read went to something else. */
const MOST_MOVE_MODULES = 1.2;
/** Share of the edges (of the picture's variance, for a small one) that the refined marker must explain. */
const LEAST_AGREEING = 0.6;
/** Uncertainty of corners as read, where no refinement held, modules. */
const AS_READ_SIGMA_MODULES = 0.15;
/** Focal length in diagonals when EXIF is silent: 26 mm of 43.27 mm, the usual phone's main camera (no source). */
const USUAL_FOCAL_DIAGONALS = 0.6;

/**
 * Finds every fully visible marker of the family AprilTag 36h11 in a photo, with corners to a few hundredths of a pixel
 * where it is large and sharp. No marker is an empty list, not a problem.
 */
export async function detectMarkers(
  photo: Photo,
  options: Partial<DetectMarkersOptions> = {},
): Promise<Result<MarkerDetection[], Problem>> {
  const settings = { ...defaultDetectMarkersOptions, ...options };
  throwIfCancelled(settings.signal);
  const tags = tagsIn(photo.raster, settings);
  const moduleOf = (tag: FoundTag) => shortestSidePx(tag.quad) / (CODE_SIDE + 2 * settings.borderModules);
  const large = tags.filter((tag) => moduleOf(tag) >= SMALL_MODULE_PX);
  const { states } = refineMarkers(photo.raster, large, lensOf(photo), settings.borderModules, settings.signal);
  const detections = tags.flatMap((tag) => {
    throwIfCancelled(settings.signal);
    const state = states[large.indexOf(tag)] ?? null;
    const blurPx = state === null ? undefined : Math.sqrt((state.blur[0] + state.blur[2]) / 2);
    const asWhole = blurPx === undefined || moduleOf(tag) < LEAST_MODULE_BLURS * blurPx;
    const solution = asWhole
      ? fitSmallMarker(photo.raster, tag.quad, familyGrids()[tag.id], settings.borderModules, blurPx)
      : (state?.solution ?? null);
    if (solution?.covered || !isInPicture(solution?.corners ?? tag.quad, photo.raster)) return [];
    return [detectionFrom(tag, solution, moduleOf(tag), state !== null && isClipped(state.readings))];
  });
  return ok(detections.sort((a, b) => a.id - b.id));
}

/** All tags of a picture, read on its pyramid, in pixels of the picture itself. */
function tagsIn(raster: Raster, settings: DetectMarkersOptions): FoundTag[] {
  const levels = greyLevels(raster);
  if (raster.widthPx * raster.heightPx > MOST_DOUBLED_PX2) return findTags(levels, settings, settings.signal);
  return findTags([doubleGrey(levels[0]), ...levels], settings, settings.signal)
    .map((tag) => ({ ...tag, quad: tag.quad.map((v) => fromPyramidLevel(v, -1)) }))
    .filter((tag) => shortestSidePx(tag.quad) >= LEAST_SIDE_PX);
}

function lensOf({ raster, exif }: Photo): RadialLens {
  const { widthPx, heightPx } = raster;
  const diagonal = Math.hypot(widthPx, heightPx);
  const focal = exif.focalLength35mm === null ? USUAL_FOCAL_DIAGONALS : exif.focalLength35mm / 43.267;
  return { centreX: (widthPx - 1) / 2, centreY: (heightPx - 1) / 2, focalPx: focal * diagonal };
}

/** All four corners lie on the picture. */
function isInPicture(corners: Float64Array, { widthPx, heightPx }: Raster): boolean {
  return corners.every((value, i) => value >= -0.5 && value <= (i % 2 === 0 ? widthPx : heightPx) - 0.5);
}

/** More than half of the edges have clipped pixels on their bright side. */
function isClipped(readings: readonly { readonly fit: { readonly clippedShare: number } }[]): boolean {
  return readings.filter(({ fit }) => fit.clippedShare > 0.25).length > readings.length / 2;
}

function detectionFrom(
  tag: FoundTag,
  solution: MarkerSolution | null,
  modulePx: number,
  clippedWhite: boolean,
): MarkerDetection {
  const holds = solution !== null && holdsTo(solution, tag, modulePx);
  const corners = holds ? solution.corners : tag.quad;
  const corner = (i: number) => photoPoint(corners[2 * i], corners[2 * i + 1]);
  const asRead = Math.max(0.4, AS_READ_SIGMA_MODULES * modulePx);
  return {
    id: tag.id,
    cornersInPhoto: [corner(0), corner(1), corner(2), corner(3)],
    sigmaPx: holds ? solution.sigmaPx : asRead,
    residualPx: holds ? solution.residualPx : asRead,
    wrongBits: tag.wrongBits,
    clippedWhite,
  };
}

function holdsTo(solution: MarkerSolution, tag: FoundTag, modulePx: number): boolean {
  const limit = Math.max(2, MOST_MOVE_MODULES * modulePx);
  return (
    Number.isFinite(solution.sigmaPx) &&
    solution.agreeing > LEAST_AGREEING * solution.edgeCount &&
    solution.corners.every((value, i) => Math.abs(value - tag.quad[i]) <= limit)
  );
}
