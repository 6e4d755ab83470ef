import { describe, expect, it } from 'vitest';
import type { CentreLine } from '../../../../server/scene/rail-joint.js';
import type { RunInPhoto } from '../../../../server/scene/run-in-photo.js';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { cameraAboveTrack, type DrawnTrack, drawTrack, lineAlongTrack } from '../../../support/draw-track.js';
import { jointsOf } from '../../../support/joints/joints-of.js';

/** Track that ends at 430 mm, and a line that was led on over bare table and something that is no track. */
function ledOn(followed?: CentreLine['followed'], table: DrawnTrack['table'] = [150, 130, 90]): RunInPhoto {
  const ties = Array.from({ length: 6 }, (_, i) => [30 + 70 * i, 42 + 70 * i] as const);
  const scene = { table, rails: [[10, 430]] as const, pinMm: 0, ties, rust: [] };
  return {
    raster: drawTrack({ ...scene, cover: [520, 600], coverHalfMm: 40 }, tallTrack, 5),
    camera: cameraAboveTrack,
    track: tallTrack,
    line: { ...lineAlongTrack, ...(followed && { followed }) },
  };
}

describe('where a run ends', () => {
  it('is before bare table beyond which no rails were followed, though its line goes on', async () => {
    const { toS, toUMm } = await jointsOf(ledOn({ fromS: 8, toS: 424 }));
    expect(Math.abs(toS - 430)).toBeLessThan(0.7);
    expect(toUMm).toBeLessThan(1);
  });

  it.each([
    [92, 92, 95],
    [104, 98, 92],
  ] as const)('is there too where flanges look like the table, of colour %d %d %d', async (...table) => {
    const { toS } = await jointsOf(ledOn({ fromS: 8, toS: 424 }, table));
    expect(Math.abs(toS - 430)).toBeLessThan(8);
  });

  it('is not guessed from bare table alone: without that the line is believed', async () => {
    const { toS } = await jointsOf(ledOn());
    expect(toS).toBeGreaterThan(500);
  });

  it.each([
    ['flanges that look like table at their tips', { litTipMm: 6 }],
    ['a tie under its last 12 mm', { ties: [[418, 430]] as const }],
    ['heads that are rusty all along', { headRust: [[300, 430]] as const }],
    ['rust all along', { rust: [[300, 430]] as const }],
  ])('is not the edge of a sheet that lies beyond it, with %s', async (_, more) => {
    const scene = { table: [96, 120, 70] as const, rails: [[10, 430]] as const, pinMm: 0, ties: [], rust: [], ...more };
    const raster = drawTrack({ ...scene, sheet: { along: [456, 700], rightMm: 200 } }, tallTrack, 5);
    const places = lineAlongTrack.places.slice(0, 54);
    const line = { ...lineAlongTrack, places };
    const { toS } = await jointsOf({ raster, camera: cameraAboveTrack, track: tallTrack, line });
    expect(Math.abs(toS - 430)).toBeLessThan(2);
  });
});
