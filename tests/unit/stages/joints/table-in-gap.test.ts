import { describe, expect, it } from 'vitest';
import type { RunInPhoto } from '../../../../server/scene/run-in-photo.js';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { tableInGap } from '../../../../server/stages/joints/table-in-gap.js';
import { cameraAboveTrack, type DrawnTrack, drawTrack, lineAlongTrack } from '../../../support/draw-track.js';

function shareBetween(from: number, to: number, scene: Partial<DrawnTrack>, papers?: RunInPhoto['papers']): number {
  const drawn = { table: [96, 120, 70] as const, rails: [[0, 600]] as const, pinMm: 0, ties: [], rust: [], ...scene };
  const raster = drawTrack(drawn, tallTrack, 5);
  const run = { raster, camera: cameraAboveTrack, track: tallTrack, line: lineAlongTrack };
  return tableInGap({ ...run, papers }, from, to);
}

describe('how much of a gap looks like table', () => {
  it('is nearly all of one that is open', () => {
    const rails = [
      [0, 280],
      [330, 600],
    ] as const;
    expect(shareBetween(280, 330, { rails })).toBeGreaterThan(0.9);
  });

  it('is most of one that light falls into, while the table beside the rails lies in their shade', () => {
    const rails = [
      [0, 280],
      [330, 600],
    ] as const;
    const pink = { table: [200, 110, 130], shade: 0.65 } as const;
    expect(shareBetween(280, 330, { ...pink, rails })).toBeGreaterThan(0.8);
    expect(shareBetween(220, 300, { ...pink, cover: [200, 320], coverHalfMm: 70 })).toBeLessThan(0.3);
  });

  it('is most of one that lies on the edge of a marker’s sheet, once it is known what paper looks like', () => {
    const rails = [
      [0, 280],
      [330, 600],
    ] as const;
    const scene = { rails, sheet: { along: [180, 420], rightMm: 6 } } as const;
    const whiteAt = [60, 66, 72, 78].map((y) => ({ x: 300, y }));
    expect(shareBetween(280, 330, scene)).toBeLessThan(0.6);
    expect(shareBetween(280, 330, scene, [whiteAt])).toBeGreaterThan(0.9);
    const farAway = whiteAt.map(({ y }) => ({ x: 900, y }));
    expect(shareBetween(280, 330, scene, [farAway])).toBeLessThan(0.6);
    const covered = { ...scene, cover: [200, 320], coverHalfMm: 70 } as const;
    expect(shareBetween(220, 300, covered, [whiteAt])).toBeLessThan(0.3);
  });

  it.each([25, 70])('is little where something stands over rails and table, %i mm to each side', (coverHalfMm) => {
    expect(shareBetween(220, 300, { cover: [200, 320], coverHalfMm })).toBeLessThan(0.3);
  });
});
