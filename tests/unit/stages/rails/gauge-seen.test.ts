import { describe, expect, it } from 'vitest';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { looksAt } from '../../../../server/stages/rails/rail-merit.js';
import { measureRails } from '../../../../server/stages/rails/refine-path.js';
import { camera, pictureOfCircle, samples } from '../../../support/rails/circle-of-track.js';

const overhead = { x: 0, y: 0, z: 20000 };

describe('the gauge that a photo shows', () => {
  it('is that of the track, from nearly above as from aslant: each rail is seen aslant by an angle of its own', () => {
    const measured = measureRails(pictureOfCircle(overhead), camera, tallTrack, samples, overhead);
    const wide = measured.map(({ sidewaysMm: [right, , left] }) => left - right).filter((mm) => !Number.isNaN(mm));
    expect(wide.length).toBeGreaterThan(0.7 * samples.length);
    // From 1.5 m above, flanges that lie 8 mm lower seem nearer together by 0.2 mm than heads do.
    expect(Math.abs(wide.reduce((sum, mm) => sum + mm, 0) / wide.length)).toBeLessThan(0.03);
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
