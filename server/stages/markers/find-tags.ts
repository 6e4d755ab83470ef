import { throwIfCancelled } from '../../base/cancel.js';
import { fromPyramidLevel, toPyramidLevel } from '../../images/grey-pyramid.js';
import type { Raster } from '../../images/raster.js';
import { sampleGrey } from '../../images/sample-grey.js';
import { type DarkShape, findDarkShapes } from './dark-shapes.js';
import { areaOf, type Quad, quadFromShape } from './quad-from-shape.js';
import { type CodeReading, type ReadOptions, readCode } from './read-code.js';
import { sharpenQuad } from './sharpen-quad.js';
import { CODE_SIDE } from './tag-family.js';
import { homographyFromQuad, shortestSidePx } from './tag-plane.js';
import { tileContrast } from './tile-contrast.js';

/** A tag found and read, its corners good to about half a pixel of the picture that it was read in. */
export interface FoundTag {
  readonly id: number;
  /** Corners in the photo, px, in the tag's order. */
  readonly quad: Quad;
  readonly wrongBits: number;
  readonly contrast: number;
}

/**
 * Boxes around the shapes looked at on each reduced picture, px. Larger ones are found on the next, half as large; on the
 * last there is no next.
 */
const LEAST_BOX_PX = 9;
const MOST_BOX_PX = 96;
const MOST_BOX_LAST_PX = 200;
/** Differences smaller than so many times those of plain areas are grain and noise; but of so many codes they are looked at. */
const FLOOR_RANGES = 2.5;
const MOST_FLOOR = 48;
/** Below this the sides of a module are hardly longer than a pixel. */
const LEAST_SIDE_PX = 9;
/**
 * Thresholds between dark and bright, tried one after the other. Blur makes bright areas reach into dark ones in the
 * coded picture, so the middle is too low; the lower one parts a shaded from a bright half. Shadows across tags so small
 * that they are found on the whole picture only are let go (measured: three finds in a thousand, a third of the time).
 */
const FRACTIONS = [0.55, 0.35] as const;
const FRACTIONS_ON_WHOLE = [0.6] as const;

/**
 * All tags of the family in a picture pyramid, coarsest level first: what was read there is not looked for again.
 */
export function findTags(levels: readonly Raster[], options: ReadOptions, signal?: AbortSignal): FoundTag[] {
  const found: FoundTag[] = [];
  for (let level = levels.length - 1; level >= 0; level--) {
    throwIfCancelled(signal);
    const grey = levels[level];
    const tiles = tileContrast(grey);
    const leastContrast = Math.min(MOST_FLOOR, Math.max(options.leastContrast, FLOOR_RANGES * tiles.usualRange));
    for (const fraction of level === 0 ? FRACTIONS_ON_WHOLE : FRACTIONS) {
      const shapes = findDarkShapes(grey, tiles, {
        leastBoxPx: LEAST_BOX_PX,
        mostBoxPx: level === levels.length - 1 ? MOST_BOX_LAST_PX : MOST_BOX_PX,
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

function readShape(shape: DarkShape, levels: readonly Raster[], level: number, options: ReadOptions): FoundTag | null {
  const rough = quadFromShape(shape);
  if (rough === null || shortestSidePx(rough) < LEAST_SIDE_PX) return null;
  if (!isDarkInBright(levels[level], rough, options)) return null;
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

/** Places looked at along each side, and how many in all must be darker inside than outside. */
const PLACES = 5;
const LEAST_DARKER = 15;

/** A quick look before anything costly: border dark, paper bright, along most of the four sides. */
function isDarkInBright(grey: Raster, quad: Quad, options: ReadOptions): boolean {
  const modules = CODE_SIDE + 2 * options.borderModules;
  let darker = 0;
  for (let side = 0; side < 4; side++) {
    const [a, b, c] = [2 * side, 2 * ((side + 1) % 4), 2 * ((side + 2) % 4)];
    // Half a module into the quad, and half a module out of it.
    const stepX = (quad[c] - quad[b]) / modules / 2;
    const stepY = (quad[c + 1] - quad[b + 1]) / modules / 2;
    for (let i = 0; i < PLACES; i++) {
      const t = (i + 0.5) / PLACES;
      const x = quad[a] + t * (quad[b] - quad[a]);
      const y = quad[a + 1] + t * (quad[b + 1] - quad[a + 1]);
      const inside = sampleGrey(grey, x + stepX, y + stepY);
      if (sampleGrey(grey, x - stepX, y - stepY) - inside >= options.leastContrast / 2) darker++;
    }
  }
  return darker >= LEAST_DARKER;
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
