import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { doubleGrey, fromPyramidLevel, greyFromRgb } from '../../server/images/grey-pyramid.js';
import { findDarkShapes } from '../../server/stages/markers/dark-shapes.js';
import { quadFromShape } from '../../server/stages/markers/quad-from-shape.js';
import { sharpenQuad } from '../../server/stages/markers/sharpen-quad.js';
import { tileContrast } from '../../server/stages/markers/tile-contrast.js';
import { openPhoto } from '../../server/stages/photo/open-photo.js';

const folder = '/usr/share/doc/opencv-doc/opencv4/html';

/**
 * Real photographs of Debian's opencv-doc and the corners published for them, ±1 px: OpenCV contrib,
 * modules/aruco/test/test_aruco_tutorial.cpp. The markers are of another family, so only their black squares are looked
 * for here: what our reader starts from.
 */
const published: Readonly<Record<string, readonly (readonly number[])[]>> = {
  'singlemarkersoriginal.jpg': [
    [359, 310, 404, 310, 410, 350, 362, 350],
    [427, 255, 469, 256, 477, 289, 434, 288],
    [233, 273, 190, 273, 196, 241, 237, 241],
    [298, 185, 334, 186, 335, 212, 297, 211],
    [425, 163, 430, 186, 394, 186, 390, 162],
    [195, 155, 230, 155, 227, 178, 190, 178],
  ],
  'choriginal.jpg': [
    [268, 77, 290, 80, 286, 97, 263, 94],
    [360, 90, 382, 93, 379, 111, 357, 108],
    [211, 106, 233, 109, 228, 127, 205, 123],
    [306, 120, 328, 124, 325, 142, 302, 138],
    [402, 135, 425, 139, 423, 157, 400, 154],
    [247, 152, 271, 155, 267, 174, 242, 171],
    [347, 167, 371, 171, 369, 191, 344, 187],
    [185, 185, 209, 189, 203, 210, 178, 206],
    [288, 201, 313, 206, 309, 227, 284, 223],
    [393, 218, 418, 222, 416, 245, 391, 241],
    [223, 240, 250, 244, 244, 268, 217, 263],
    [333, 258, 359, 262, 356, 286, 329, 282],
    [152, 281, 179, 285, 171, 312, 143, 307],
    [267, 300, 294, 305, 289, 331, 261, 327],
    [383, 319, 410, 324, 408, 351, 380, 347],
    [194, 347, 223, 352, 216, 382, 186, 377],
    [315, 368, 345, 373, 341, 403, 310, 398],
  ],
};

/** All dark four-cornered shapes of a photo, corners in its own pixels, as the marker stage finds them. */
async function darkSquares(file: string): Promise<number[][]> {
  const photo = await openPhoto(file, readFileSync(file));
  if (!photo.ok) throw new Error(photo.problem.code);
  const grey = doubleGrey(greyFromRgb(photo.value.raster));
  const options = { leastBoxPx: 9, mostBoxPx: 200, leastContrast: 30, fraction: 0.55 };
  return findDarkShapes(grey, tileContrast(grey), options).flatMap((shape) => {
    const rough = quadFromShape(shape);
    const quad = rough === null ? null : sharpenQuad(grey, rough, 2);
    return quad === null ? [] : [Array.from(quad, (v) => fromPyramidLevel(v, -1))];
  });
}

function worst(corners: readonly number[], quad: readonly number[]): number {
  return Math.max(
    ...[0, 2, 4, 6].map((i) =>
      Math.min(...[0, 2, 4, 6].map((k) => Math.hypot(quad[k] - corners[i], quad[k + 1] - corners[i + 1]))),
    ),
  );
}

describe('black squares on real photographs', () => {
  it.skipIf(!existsSync(`${folder}/choriginal.jpg`)).each(Object.entries(published))(
    'finds all squares of %s within what the published corners were rounded and allowed to be off by',
    async (name, squares) => {
      const quads = await darkSquares(`${folder}/${name}`);
      const errors = squares.map((corners) => Math.min(...quads.map((quad) => worst(corners, quad))));
      // Published in whole pixels, ±1 px.
      expect(Math.max(...errors)).toBeLessThan(1.5);
    },
  );
});
