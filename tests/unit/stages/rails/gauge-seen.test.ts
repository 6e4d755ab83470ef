import { describe, expect, it } from 'vitest';
import type { Raster } from '../../../../server/images/raster.js';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { looksAt } from '../../../../server/stages/rails/rail-merit.js';
import { measureRails } from '../../../../server/stages/rails/refine-path.js';
import { camera, pictureOfCircle, samples } from '../../../support/rails/circle-of-track.js';

const overhead = { x: 0, y: 0, z: 20000 };

/** Mean of the distances between the outer rails, over what they should be, millimetres; some may not be seen. */
function tooWideMm(picture: Raster): number {
  const measured = measureRails(picture, camera, tallTrack, samples, overhead);
  const wide = measured.map(({ sidewaysMm: [right, , left] }) => left - right).filter((mm) => !Number.isNaN(mm));
  expect(wide.length).toBeGreaterThan(0.7 * samples.length);
  return wide.reduce((sum, mm) => sum + mm, 0) / wide.length;
}

describe('the gauge that a photo shows', () => {
  it('is that of the track, from nearly above as from aslant: each rail is seen aslant by an angle of its own', () => {
    // From 1.5 m above, flanges that lie 8 mm lower seem nearer together by 0.2 mm than heads do.
    expect(Math.abs(tooWideMm(pictureOfCircle(overhead)))).toBeLessThan(0.03);
  });

  it('hardly changes with what lies beside one rail only: a shadow that widens its flange does not move its crest', () => {
    const plain = tooWideMm(pictureOfCircle(overhead));
    for (const rail of [-1, 1]) {
      const shaded = tooWideMm(pictureOfCircle(overhead, (r) => (r === rail ? 1 : 0)));
      expect(Math.abs(shaded - plain)).toBeLessThan(0.05);
    }
  });

  it('shows flanges the nearer together the nearer the eye', () => {
    const spread = (heightMm: number): number => {
      const nearer = {
        ...camera,
        cameraFromTable: { ...camera.cameraFromTable, translation: [0, 0, heightMm] as const },
      };
      const [right, , left] = looksAt(nearer, tallTrack, { x: 0, y: 0, headingRad: 0 }, overhead);
      return Math.max(...left.look.edges.map((e) => e.offsetMm)) - Math.max(...right.look.edges.map((e) => e.offsetMm));
    };
    // Thales: what lies lower by 8.2 mm shifts by 36.35 mm · 8.2 / (height over the rails' axes).
    expect(spread(1500)).toBeCloseTo((-36.35 * 8.2) / (1500 - 17.5), 1);
    expect(spread(750)).toBeCloseTo((-36.35 * 8.2) / (750 - 17.5), 1);
  });
});
