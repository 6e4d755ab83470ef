import { describe, expect, it } from 'vitest';
import { lowTrack, scaledTrack, tallTrack } from '../../../../server/scene/track-profile.js';
import { spacingSeen } from '../../../../server/stages/rails/rail-spacing.js';
import { camera, pictureOfCircle, samples } from '../../../support/rails/circle-of-track.js';

describe('how far apart rails are seen to lie', () => {
  const picture = pictureOfCircle({ x: 0, y: 0, z: 20000 });
  const seen = (share: number): number | null => spacingSeen(picture, camera, scaledTrack(tallTrack, share), samples);

  it('is not told where they lie as they should', () => {
    for (const share of [1, 0.99, 1.01]) expect(seen(share)).toBeNull();
    expect(spacingSeen(picture, camera, lowTrack, samples)).toBeNull();
  });

  it.each([0.62, 0.75, 0.9, 1.1, 1.3, 1.6])('is told of a track that is taken for one %f times as large', (share) => {
    const told = seen(share);
    expect(told).not.toBeNull();
    expect(Math.abs(Number(told) * share - 1)).toBeLessThan(0.03);
  });

  it('is told where the track was followed beside its middle', () => {
    const aside = samples.map((p) => ({ ...p, x: 1.04 * p.x, y: 1.04 * p.y }));
    const told = spacingSeen(picture, camera, scaledTrack(tallTrack, 0.8), aside);
    expect(Math.abs(Number(told) * 0.8 - 1)).toBeLessThan(0.03);
  });

  it('is not told of two rails, of no places, and of a table without track', () => {
    expect(spacingSeen(picture, camera, { ...scaledTrack(tallTrack, 0.8), railCount: 2 }, samples)).toBeNull();
    expect(spacingSeen(picture, camera, scaledTrack(tallTrack, 0.8), [])).toBeNull();
    const bare = { ...picture, data: new Uint8Array(picture.data.length).fill(140) };
    expect(spacingSeen(bare, camera, scaledTrack(tallTrack, 0.8), samples)).toBeNull();
  });
});
