import { throwIfCancelled } from '../../base/cancel.js';
import { fromPyramidLevel, toPyramidLevel } from '../../images/grey-pyramid.js';
import type { Raster } from '../../images/raster.js';
import { type DarkShape, findDarkShapes, tileExtremes } from './dark-shapes.js';
import { areaOf, type Quad, quadFromShape } from './quad-from-shape.js';
import { type CodeReading, type ReadOptions, readCode } from './read-code.js';
import { sharpenQuad } from './sharpen-quad.js';
import { homographyFromQuad, shortestSidePx } from './tag-plane.js';

/** A tag found and read, its corners good to about half a pixel of the picture that it was read in. */
export interface FoundTag {
  readonly id: number;
  /** Corners in the photo, px, in the tag's order. */
  readonly quad: Quad;
  readonly wrongBits: number;
  readonly contrast: number;
}

/** Boxes around the shapes looked at on each reduced picture, px; larger tags are found on the next. */
const LEAST_BOX_PX = 9;
const MOST_BOX_PX = 130;
/** Below this the sides of a module are less than two pixels long. */
const LEAST_SIDE_PX = 9;
/** Thresholds between dark and bright: the lower one parts a bright and a shaded half of a tag, and thin paper gaps. */
const FRACTIONS = [0.5, 0.3] as const;

/**
 * All tags of the family in a picture pyramid, coarsest level first: what was read there is not looked for again.
 */
export function findTags(levels: readonly Raster[], options: ReadOptions, signal?: AbortSignal): FoundTag[] {
  const found: FoundTag[] = [];
  for (let level = levels.length - 1; level >= 0; level--) {
    throwIfCancelled(signal);
    const grey = levels[level];
    const leastContrast = contrastFloor(grey, options.leastContrast);
    for (const fraction of FRACTIONS) {
      const shapes = findDarkShapes(grey, {
        leastBoxPx: LEAST_BOX_PX,
        mostBoxPx: MOST_BOX_PX,
        leastContrast,
        fraction,
      });
      for (const shape of shapes) {
        if (isInsideFound(shape, level, found)) continue;
        const tag = readShape(shape, levels, level, options);
        if (tag !== null) keep(found, tag);
      }
    }
  }
  return found;
}

/** Above the commonest variation of plain areas, so that grain and noise make no shapes; within firm bounds. */
function contrastFloor(grey: Raster, least: number): number {
  const { darkest, brightest } = tileExtremes(grey);
  const ranges = new Uint32Array(256);
  for (let i = 0; i < darkest.length; i++) ranges[brightest[i] - darkest[i]]++;
  let seen = 0;
  let median = 0;
  while (seen + ranges[median] < darkest.length / 2) seen += ranges[median++];
  return Math.min(32, Math.max(least, 1.5 * median));
}

function readShape(shape: DarkShape, levels: readonly Raster[], level: number, options: ReadOptions): FoundTag | null {
  const rough = quadFromShape(shape);
  if (rough === null || shortestSidePx(rough) < LEAST_SIDE_PX) return null;
  const quad = sharpenQuad(levels[level], rough, 2);
  if (quad === null || shortestSidePx(quad) < LEAST_SIDE_PX) return null;
  return readAt(quad, levels, level, options) ?? readAt(rough, levels, level, options);
}

/** Reads on this level; small modules again on the finer one, with the sides looked for anew. */
function readAt(quad: Quad, levels: readonly Raster[], level: number, options: ReadOptions): FoundTag | null {
  const reading = readQuad(levels[level], quad, options);
  if (level > 0 && (reading === null || shortestSidePx(quad) < 64)) {
    const finer = quad.map((v) => toPyramidLevel(fromPyramidLevel(v, level), level - 1));
    const sharp = sharpenQuad(levels[level - 1], finer, 2.5);
    const again = sharp === null ? null : readQuad(levels[level - 1], sharp, options);
    if (sharp !== null && again !== null && (reading === null || again.wrongBits <= reading.wrongBits))
      return tagFrom(again, sharp, level - 1);
  }
  return reading === null ? null : tagFrom(reading, quad, level);
}

function readQuad(grey: Raster, quad: Quad, options: ReadOptions): CodeReading | null {
  const h = homographyFromQuad(quad);
  return h === null ? null : readCode(grey, h, options);
}

function tagFrom(reading: CodeReading, quad: Quad, level: number): FoundTag {
  const inPhoto = new Float64Array(8);
  for (let corner = 0; corner < 4; corner++) {
    // Seen turned clockwise by n quarters, the tag's first corner is the quad's corner n.
    const from = (corner + reading.quarterTurns) % 4;
    inPhoto[2 * corner] = fromPyramidLevel(quad[2 * from], level);
    inPhoto[2 * corner + 1] = fromPyramidLevel(quad[2 * from + 1], level);
  }
  return { id: reading.id, quad: inPhoto, wrongBits: reading.wrongBits, contrast: reading.contrast };
}

/** Keeps one reading of each place: the one with fewer wrong bits, then the larger. */
function keep(found: FoundTag[], tag: FoundTag): void {
  const [x, y] = middleOf(tag.quad);
  const twin = found.findIndex((other) => contains(other.quad, x, y) || contains(tag.quad, ...middleOf(other.quad)));
  if (twin < 0) found.push(tag);
  else if (
    tag.wrongBits < found[twin].wrongBits ||
    (tag.wrongBits === found[twin].wrongBits && areaOf(tag.quad) > 1.2 * areaOf(found[twin].quad))
  )
    found[twin] = tag;
}

function isInsideFound(shape: DarkShape, level: number, found: readonly FoundTag[]): boolean {
  const row = shape.left.length >> 1;
  const x = fromPyramidLevel((shape.left[row] + shape.right[row]) / 2, level);
  const y = fromPyramidLevel(shape.top + row, level);
  return found.some((tag) => contains(tag.quad, x, y));
}

export function middleOf(quad: Quad): [number, number] {
  return [(quad[0] + quad[2] + quad[4] + quad[6]) / 4, (quad[1] + quad[3] + quad[5] + quad[7]) / 4];
}

/** Whether a point lies inside a quad that runs clockwise in the picture. */
export function contains(quad: Quad, x: number, y: number): boolean {
  for (let i = 0; i < 4; i++) {
    const j = (i + 1) % 4;
    const [ax, ay] = [quad[2 * i], quad[2 * i + 1]];
    if ((quad[2 * j] - ax) * (y - ay) - (quad[2 * j + 1] - ay) * (x - ax) < 0) return false;
  }
  return true;
}
