import { describe, expect, it } from 'vitest';
import type { CentreLine } from '../../../../server/scene/rail-joint.js';
import type { RunInPhoto } from '../../../../server/scene/run-in-photo.js';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { endBeyondCover } from '../../../../server/stages/joints/beyond-cover.js';
import { cameraAboveTrack, type DrawnTrack, drawTrack } from '../../../support/draw-track.js';
import { jointsOf } from '../../../support/joints/joints-of.js';

/** The run as far as it is followed: to the cover. */
function lineTo(endX: number): CentreLine {
  const places = Array.from({ length: Math.floor(endX / 8) + 1 }, (_, i) => ({ x: 8 * i, y: 0, headingRad: 0 }));
  return { stepMm: 8, closed: false, places };
}

function photoOf(scene: Partial<DrawnTrack>, endX: number): RunInPhoto {
  const ties = Array.from({ length: 7 }, (_, i) => [30 + 75 * i, 42 + 75 * i] as const);
  const drawn = { table: [96, 120, 70] as const, rails: [[10, 560]] as const, pinMm: 0, ties, rust: [], ...scene };
  return { raster: drawTrack(drawn, tallTrack, 11), camera: cameraAboveTrack, track: tallTrack, line: lineTo(endX) };
}

describe('the end of a run under a cover', () => {
  it('is found where a few centimetres of the rails show behind it', () => {
    const end = endBeyondCover(photoOf({ cover: [330, 515] }, 328), 326, 1);
    expect(Math.abs((end?.x ?? Number.NaN) - 560)).toBeLessThan(1);
    expect(Math.abs(end?.y ?? Number.NaN)).toBeLessThan(1.5);
  });

  it('is not guessed where the cover reaches beyond the rails', () => {
    expect(endBeyondCover(photoOf({ cover: [330, 575] }, 328), 326, 1)).toBeNull();
  });

  it('is looked for only where the run ends at a cover', async () => {
    const covered = await jointsOf(photoOf({ cover: [330, 515] }, 328));
    expect(covered.toUMm).toBeGreaterThan(5);
    expect(Math.abs((covered.toBeyond?.x ?? Number.NaN) - 560)).toBeLessThan(1);
    const free = await jointsOf(photoOf({}, 560));
    expect(free.toBeyond).toBeUndefined();
    // Drawn without blur: an end lies anywhere in its pixel, which is a millimetre wide.
    expect(Math.abs(free.toS - 560)).toBeLessThan(0.7);
    expect(free.toUMm).toBeLessThan(1);
  });
});
