import { describe, expect, it } from 'vitest';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { tableInGap } from '../../../../server/stages/joints/table-in-gap.js';
import { cameraAboveTrack, type DrawnTrack, drawTrack, lineAlongTrack } from '../../../support/draw-track.js';

function shareBetween(from: number, to: number, scene: Partial<DrawnTrack>): number {
  const drawn = { table: [96, 120, 70] as const, rails: [[0, 600]] as const, pinMm: 0, ties: [], rust: [], ...scene };
  const raster = drawTrack(drawn, tallTrack, 5);
  return tableInGap({ raster, camera: cameraAboveTrack, track: tallTrack, line: lineAlongTrack }, from, to);
}

describe('how much of a gap looks like table', () => {
  it('is nearly all of one that is open', () => {
    const rails = [
      [0, 280],
      [330, 600],
    ] as const;
    expect(shareBetween(280, 330, { rails })).toBeGreaterThan(0.9);
  });

  it.each([25, 70])('is little where something stands over rails and table, %i mm to each side', (coverHalfMm) => {
    expect(shareBetween(220, 300, { cover: [200, 320], coverHalfMm })).toBeLessThan(0.3);
  });
});
