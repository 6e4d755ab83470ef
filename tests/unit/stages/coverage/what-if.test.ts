import { describe, expect, it } from 'vitest';
import type { SolvedTable } from '../../../../server/scene/solved-table.js';
import { clearanceRow, varianceOf } from '../../../../server/stages/coverage/clearance-row.js';
import { informationOf, withMarker, withoutMarkers, withPhoto } from '../../../../server/stages/coverage/what-if.js';
import { heldAt, solvedScene } from '../../../support/solved-scene.js';

const first = { id: 0, x: 500, y: 500 };
const second = { id: 1, x: 1500, y: 600 };
const camera = heldAt([700, 100, 1500], [850, 550]);
const otherCamera = heldAt([1500, 1100, 1400], [1300, 600]);
const one = solvedScene({ markers: [first], cameras: [camera] });

const places = [
  [200, 600, 3],
  [900, 90, 0],
  [1690, 300, 1],
  [900, 600, 0],
  [1500, 1110, 2],
] as const;

function uOf(solved: SolvedTable, covariance: Float64Array, x: number, y: number, side: number): number {
  return Math.sqrt(varianceOf(clearanceRow(solved, 0, side, x, y), covariance, solved.layout.count));
}

/**
 * What is foretold is held against the product's own adjustment of a scene that has the marker or the photo in it; what
 * is foretold looks at one place of eight along rails and edges.
 */
describe('what would be known with one thing more', () => {
  it('is for a marker what the adjustment says once the marker lies there', () => {
    const known = informationOf(one);
    const foretold = known && withMarker(one, known, second);
    if (!foretold) throw new Error('the marker is in sight');
    const done = solvedScene({ markers: [first, second], cameras: [camera] });
    for (const [x, y, side] of places) {
      const now = uOf(one, one.covariance, x, y, side);
      const then = uOf(foretold.solved, foretold.covariance, x, y, side);
      // The adjustment keeps weighing lines for more than they scatter; what is foretold weighs all by what it scatters.
      expect(then / uOf(done, done.covariance, x, y, side), `at ${x}, ${y}`).toBeCloseTo(1, 1);
      expect(then).toBeLessThan(now);
    }
  });

  it('is for a photo what the adjustment says once the photo is taken', () => {
    const known = informationOf(one);
    const foretold = known && withPhoto(one, known, otherCamera);
    if (!foretold) throw new Error('the photo shows the marker');
    const done = solvedScene({ markers: [first], cameras: [camera, otherCamera] });
    expect(foretold.markers).toEqual([0]);
    let surer = 0;
    for (const [x, y, side] of places) {
      const now = uOf(one, one.covariance, x, y, side);
      const then = uOf(foretold.solved, foretold.covariance, x, y, side);
      expect(then / uOf(done, done.covariance, x, y, side), `at ${x}, ${y}`).toBeCloseTo(1, 1);
      surer = Math.max(surer, now / then);
    }
    expect(surer).toBeGreaterThan(1.15);
  });

  it('does not need to know where the other markers lie', () => {
    const two = solvedScene({ markers: [first, second], cameras: [camera] });
    const fewer = withoutMarkers(two);
    const [all, few] = [informationOf(two), informationOf(fewer)];
    const place = { x: 200, y: 1000 };
    const a = all && withMarker(two, all, place);
    const b = few && withMarker(fewer, few, place);
    if (!a || !b) throw new Error('the marker is in sight');
    for (const [x, y, side] of places)
      expect(uOf(b.solved, b.covariance, x, y, side)).toBeCloseTo(uOf(a.solved, a.covariance, x, y, side), 6);
  });

  it('is nothing where no photo shows the marker, and where the photo shows none', () => {
    const known = informationOf(one);
    if (!known) throw new Error('there is a covariance');
    expect(withMarker(one, known, { x: 9000, y: 0 })).toBeNull();
    expect(withPhoto(one, known, heldAt([1700, 1100, 300], [1700, 1100.5]))).toBeNull();
  });
});
