import { describe, expect, it } from 'vitest';
import type { RunInPhoto } from '../../../../server/scene/run-in-photo.js';
import { lowTrack, type TrackProfile, tallTrack } from '../../../../server/scene/track-profile.js';
import { endInTrail } from '../../../../server/stages/joints/run-ends.js';
import { gapInTrail, tableSpans } from '../../../../server/stages/joints/table-spans.js';
import { meanTrail, type TableTrail, tableTrail } from '../../../../server/stages/joints/table-trail.js';
import {
  cameraAboveTrack,
  cameraBeforeTrack,
  type DrawnTrack,
  drawTrack,
  lineAlongTrack,
} from '../../../support/draw-track.js';
import { jointsOf } from '../../../support/joints/joints-of.js';
import { seededRandom } from '../../../support/seeded-random.js';

const ties = Array.from({ length: 8 }, (_, i) => [30 + 75 * i, 42 + 75 * i] as const);
const rustSpots = [60, 128, 160, 236, 330, 410, 485, 520].map((s, i) => [s, s + 6 + (i % 3) * 4] as const);

function photoOf(scene: Partial<DrawnTrack>, track: TrackProfile = tallTrack): RunInPhoto {
  const drawn = { table: [96, 120, 70] as const, rails: [[10, 590]] as const, pinMm: 0, ties, rust: [], ...scene };
  return { raster: drawTrack(drawn, track, 5), camera: cameraAboveTrack, track, line: lineAlongTrack };
}

function trailOf(scene: Partial<DrawnTrack>, track?: TrackProfile): TableTrail {
  const trail = tableTrail(photoOf(scene, track), -20, 600);
  if (!trail) throw new Error('this track has flanges');
  return trail;
}

const tables = { green: [96, 120, 70], brown: [140, 84, 52], grey: [150, 150, 148] } as const;

describe('what shows where the flanges should be', () => {
  it.each(Object.entries(tables))('is the table through a gap that pins bridge, on a %s table', (_, table) => {
    const trail = trailOf({
      table,
      pinMm: 10,
      rails: [
        [10, 300],
        [310, 590],
      ],
    });
    const spans = tableSpans(trail, 4).filter((span) => span.fromS > 15 && span.toS < 585);
    expect(spans).toHaveLength(1);
    expect(Math.abs(spans[0].fromS - 300)).toBeLessThan(1.6);
    expect(Math.abs(spans[0].toS - 310)).toBeLessThan(1.6);
  });

  it.each([tallTrack, lowTrack])('is not table where rust and ties change the look of $name rails', (track) => {
    const trail = trailOf({ rust: rustSpots }, track);
    expect(tableSpans(trail, 4).filter((span) => span.fromS > 15 && span.toS < 585)).toEqual([]);
    expect(meanTrail(trail, 45, 100)).toBeLessThan(-1);
  });

  it('is not table where something stands over rails and table', () => {
    const trail = trailOf({ cover: [200, 320] });
    expect(tableSpans(trail, 4).filter((span) => span.fromS > 15 && span.toS < 585)).toEqual([]);
  });

  it('speaks most for the true ends of a gap', () => {
    const trail = trailOf({
      rails: [
        [10, 280],
        [321, 590],
      ],
      pinMm: 14,
    });
    const sum = (from: number, to: number): number => gapInTrail(trail, from, to)?.sum ?? Number.NaN;
    for (const [from, to] of [
      [280, 307],
      [294, 321],
      [270, 321],
      [280, 340],
    ])
      expect(sum(280, 321)).toBeGreaterThan(sum(from, to) + 5);
  });

  it('is not asked of a track without known flanges', () => {
    expect(tableTrail(photoOf({}, { ...tallTrack, flangeTopMm: null }), -20, 600)).toBeNull();
  });
});

describe('open gaps in a drawn photo', () => {
  it('are found where pins bridge them, and nowhere else on rusty rails', async () => {
    const rails = [
      [10, 293],
      [301.5, 425],
      [466, 590],
    ] as const;
    const open = (await jointsOf(photoOf({ rails, pinMm: 12, rust: rustSpots }))).joints.filter((j) => j.open);
    expect(open).toHaveLength(2);
    expect(Math.abs(open[0].gapMm.value - 8.5)).toBeLessThan(0.6);
    // Of all rails but the last millimetre before it is rusty: that alone can hardly be told from what lies beyond.
    expect(Math.abs(open[1].gapMm.value - 41)).toBeLessThan(0.8);
    expect(Math.abs(open[1].gapMm.value - 41)).toBeLessThan(2 * open[1].gapMm.u);
  });
});

describe('a short gap with rust up to one of its ends, and much before it', () => {
  const random = seededRandom(1);
  const rust: [number, number][] = [[283, 292.5]];
  const headRust: [number, number][] = [];
  for (let s = 20; s < 280; s += 10 + 14 * random()) rust.push([s, s + 3 + 8 * random()]);
  for (let s = 15; s < 285; s += 10 + 20 * random()) headRust.push([s, s + 4 + 8 * random()]);
  for (let s = 320; s < 580; s += 40 + 30 * random()) rust.push([s, s + 3 + 8 * random()]);
  const scene = { table: tables.grey, pinMm: 8, rust, headRust };

  it('is found where the other end is clear and the table shows plainly through it', async () => {
    const rails = [
      [10, 293],
      [301, 590],
    ] as const;
    const open = (await jointsOf(photoOf({ ...scene, rails }))).joints.filter((j) => j.open);
    expect(open).toHaveLength(1);
    expect(Math.abs(open[0].gapMm.value - 8)).toBeLessThan(1.2);
  });

  it('is none where the rails go on', async () => {
    expect((await jointsOf(photoOf(scene))).joints.filter((j) => j.open)).toHaveLength(0);
  });
});

describe('a gap whose one end is rusty on all heads, of the colour of the table', () => {
  it.each([7, 9, 12])('is as long as the table shows, not %i mm longer', async (rustMm) => {
    const rails = [
      [10, 280],
      [315, 590],
    ] as const;
    const found = await jointsOf(photoOf({ rails, pinMm: 12, table: tables.brown, headRust: [[280 - rustMm, 280]] }));
    const open = found.joints.filter((j) => j.open);
    expect(open).toHaveLength(1);
    expect(Math.abs(open[0].gapMm.value - 35)).toBeLessThan(1);
  });
});

describe('the ends of a run in a drawn photo', () => {
  it.each([0, 4, 7])('are where the heads end, though light lies on %i mm of the flanges there', async (litTipMm) => {
    const table = [165, 150, 120] as const;
    const { toS, toUMm } = await jointsOf(photoOf({ table, rails: [[10, 570]], litTipMm }));
    expect(Math.abs(toS - 570)).toBeLessThan(0.8);
    expect(toUMm).toBeLessThan(1);
  });

  it.each([
    [0.5, 14],
    [0.6, 11],
    [0.7, 14],
    [0.9, 11],
    [0.9, 16],
  ])(
    'are where the flanges end too, though bright pins %d times as wide as heads reach on by %i mm',
    async (share, pinMm) => {
      const pinned = { ...tallTrack, pinDiameterMm: share * tallTrack.headWidthMm };
      const drawn = { table: tables.green, rails: [[30, 590]] as const, pinMm, ties, rust: [] };
      const raster = drawTrack(drawn, pinned, 5, cameraBeforeTrack);
      const run = { raster, camera: cameraBeforeTrack, track: pinned, line: lineAlongTrack };
      const { fromS, fromUMm } = await jointsOf(run);
      expect(Math.abs(fromS - 30)).toBeLessThan(0.8);
      expect(fromUMm).toBeLessThan(1.6);
    },
  );

  it.each([5, 7, 9])(
    'are where heads and flanges end, though the shadow of pins passes for flanges for %i mm',
    async (pinShadowMm) => {
      const pinned = { ...tallTrack, pinDiameterMm: 0.6 * tallTrack.headWidthMm };
      const drawn = {
        table: tables.green,
        rails: [[30, 590]] as const,
        pinMm: 12,
        pinShine: 0.75,
        pinShadowMm,
        ties: [],
        rust: [],
      };
      const raster = drawTrack(drawn, pinned, 5, cameraAboveTrack);
      const { fromS, fromUMm } = await jointsOf({
        raster,
        camera: cameraAboveTrack,
        track: pinned,
        line: lineAlongTrack,
      });
      expect(Math.abs(fromS - 30)).toBeLessThan(0.8);
      expect(fromUMm).toBeLessThan(1.6);
    },
  );

  it.each([1, -1] as const)(
    'part the rows like rails from those like table, most unlike them all (towards %i)',
    (towards) => {
      // Rust and a lit spot make the last of the rails look less like themselves, and once like table.
      const likeAt = (beyond: number): number => (beyond > 0 ? 2 : beyond > -8 ? -0.3 : beyond > -11 ? 0.9 : -1.8);
      const like = Float32Array.from({ length: 200 }, (_, i) => likeAt(towards * (i - 100)));
      const end = endInTrail({ startS: 0, stepMm: 1, like }, 100 - towards * 6, towards);
      expect(Math.abs((end ?? Number.NaN) - 100)).toBeLessThan(1.1);
    },
  );
});
