import { describe, expect, it } from 'vitest';
import type { RunInPhoto } from '../../../../server/scene/run-in-photo.js';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { type TieTrail, tieLikeness, tieTrail } from '../../../../server/stages/joints/tie-trail.js';
import { cameraAboveTrack, drawTrack, lineAlongTrack } from '../../../support/draw-track.js';
import { seededRandom } from '../../../support/seeded-random.js';

/** Sections of full and of half length, ties at both ends and in the middle of the long ones. */
const endTieMm = 31;
const lengths = [254, 127, 254, 254, 127, 254];
const joints = lengths.map((_, i) => lengths.slice(0, i + 1).reduce((a, b) => a + b, 0));
const places = lengths.flatMap((length, i) => {
  const from = joints[i] - length;
  return [from + endTieMm, ...(length > 200 ? [from + length / 2] : []), from + length - endTieMm];
});

/** Half the width of a drawn tie, and how much light it takes of what is there; the rest is grain. */
function trailOf(contrast: number, grain: number): TieTrail {
  const random = seededRandom(11);
  const darker = Float32Array.from({ length: 640 }, (_, i) => {
    const s = 2 * i;
    const tie = places.some((at) => Math.abs(at - s) < 6.5) ? contrast : 0;
    return tie + grain * (random() + random() - 1);
  });
  return { fromS: 0, stepMm: 2, darker };
}

describe('ties about a place', () => {
  const inner = joints.slice(0, -1);

  it('lie as about joints at joints, and not elsewhere', () => {
    const likeness = tieLikeness(trailOf(0.6, 0.2), [...inner, 90, 200, 330, 575, 700]);
    for (const s of inner) expect(likeness(s) ?? Number.NaN).toBeGreaterThan(0.75);
    for (const s of [60, 90, 200, 330, 420, 575, 700, 820]) expect(likeness(s) ?? Number.NaN).toBeLessThan(0.6);
  });

  it('tell nothing where none show', () => {
    const likeness = tieLikeness(trailOf(0, 0.05), [...inner, 90, 200, 330]);
    for (const s of inner) expect(likeness(s)).toBeNull();
  });

  it('tell nothing where the places given have no ties in common', () => {
    const likeness = tieLikeness(trailOf(0.6, 0.2), [60, 420]);
    expect(likeness(254)).toBeNull();
  });
});

describe('a tie trail', () => {
  it('is dark at the ends of ties that a photo shows, and nowhere else', () => {
    const ties = [100, 180, 330, 450].map((s) => [s, s + 12] as const);
    const drawn = { table: [150, 140, 120] as const, rails: [[0, 600]] as const, pinMm: 0, ties, rust: [] };
    const run: RunInPhoto = {
      raster: drawTrack(drawn, tallTrack, 5),
      camera: cameraAboveTrack,
      track: tallTrack,
      line: lineAlongTrack,
    };
    const { fromS, stepMm, darker } = tieTrail(run, 60, 540);
    darker.forEach((value, i) => {
      const s = fromS + i * stepMm;
      const inTie = Math.max(...ties.map(([a, b]) => Math.min(s - a, b - s)));
      if (inTie > 2) expect(value).toBeGreaterThan(0.12);
      if (inTie < -2) expect(Math.abs(value)).toBeLessThan(0.1);
    });
  });
});
