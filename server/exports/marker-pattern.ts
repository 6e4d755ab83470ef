import { createRequire } from 'node:module';
import { AprilTagFamily } from 'apriltag';
import { assert } from '../base/assert.js';

const require = createRequire(import.meta.url);

/** Modules along one side of the black square: 6 of data and a border of 1 on each side. */
export const modulesPerSide = 8;

const family = new AprilTagFamily(require('apriltag/families/36h11.json'));

/** How many ids the AprilTag family 36h11 has (Wang and Olson 2016; the table of npm apriltag). */
export const markerCount = family.codes.length;

/**
 * The black and white modules of one marker of the AprilTag family 36h11.
 * @returns 8 rows from the top of 8 modules from the left, true where black
 */
export function markerPattern(id: number): readonly (readonly boolean[])[] {
  assert(Number.isInteger(id) && id >= 0 && id < markerCount, 'marker id out of range', id);
  const withWhiteRim = family.render(id);
  return withWhiteRim.slice(1, -1).map((row) => row.slice(1, -1).map((module) => module === 'b'));
}
