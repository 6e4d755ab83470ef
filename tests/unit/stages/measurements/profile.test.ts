import { describe, expect, it } from 'vitest';
import type {
  MeasuredLayout,
  MeasuredPiece,
  MeasuredRun,
  MeasuredSide,
} from '../../../../server/scene/measured-layout.js';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { profileOfRun, smallestClearances } from '../../../../server/stages/measurements/distances.js';

/** A side along y = 0 and one along x = 0, table where both coordinates are positive. */
const sides = [
  { name: 'A', headingRad: 0 },
  { name: 'B', headingRad: -Math.PI / 2 },
].map(
  ({ name, headingRad }, i): MeasuredSide => ({
    name,
    arc: { x: 0, y: 0, headingRad, curvaturePerMm: 0, halfLengthMm: 2000 },
    arcIndex: i + 1,
    fromS: -2000,
    toS: 2000,
    fromCorner: true,
    toCorner: true,
  }),
);

/** A straight that crosses the bisector of the corner at a slant. */
const piece: MeasuredPiece = {
  arc: { x: 303, y: 297, headingRad: 2.1, curvaturePerMm: 0, halfLengthMm: 127 },
  arcIndex: 0,
  straight: true,
  seen: true,
  fromS: -127,
  toS: 127,
};
const run: MeasuredRun = {
  id: 'R1',
  closed: false,
  photo: 0,
  pieces: [piece],
  joints: [],
  jointPlaces: [],
  hidden: [],
};
const layout: MeasuredLayout = {
  cameras: [],
  photoNames: [],
  photoSizesPx: [],
  track: tallTrack,
  railTopOffMm: 0,
  runs: [run],
  sides,
  arcCovariance: () => new Array<number>(9).fill(0),
};

describe('the profile past a corner of the table', () => {
  it('has both sides where they are alike, and the nearest one elsewhere', () => {
    const profile = profileOfRun(layout, run);
    const change = profile.findIndex((p, i) => i > 0 && p.side !== profile[i - 1].side);
    const [a, b] = [profile[change - 1], profile[change]];
    expect(Math.hypot(a.at[0] - b.at[0], a.at[1] - b.at[1])).toBeLessThan(60);
    expect(Math.abs(a.distance.value - b.distance.value)).toBeLessThan(0.5);
    for (const p of profile) expect(p.distance.value).toBeLessThanOrEqual(Math.min(...p.at) + 0.5);
    // Steps of 8 mm at most, and one change of sides.
    expect(profile.length).toBe(Math.ceil(254 / 8) + 1 + 2);
    expect(profile.filter((p, i) => i > 0 && p.side !== profile[i - 1].side)).toHaveLength(1);
  });
});

describe('the smallest clearance', () => {
  /** Track along y = 60, and beside it a covered stretch that lies nearer to the side by its middle. */
  const straight = (y: number, seen: boolean): MeasuredPiece => ({
    arc: { x: 500, y, headingRad: 0, curvaturePerMm: 0, halfLengthMm: 100 },
    arcIndex: seen ? 0 : 9,
    straight: true,
    seen,
    fromS: -100,
    toS: 100,
  });
  const nearestOf = (coveredU: number): { y: number; u: number } => {
    const pieces = [straight(60, true), straight(50, false)];
    const variance = [0, 0, 0, 0, coveredU ** 2, 0, 0, 0, 0];
    const covariance = (a: number, b: number): number[] =>
      a === 9 && b === 9 ? variance : new Array<number>(9).fill(0);
    const all = smallestClearances({ ...layout, runs: [{ ...run, pieces }], arcCovariance: covariance });
    const { at, distance } = all.find((c) => c.side === 'A') ?? { at: [0, 0], distance: { u: 0 } };
    return { y: Math.round(at[1] + 20), u: distance.u };
  };

  it('is that of covered track where this is surely nearer', () => {
    expect(nearestOf(1).y).toBe(50);
  });

  it('is that of the track that is seen where covered track may lie anywhere', () => {
    expect(nearestOf(30).y).toBe(60);
    expect(nearestOf(30).u).toBeLessThan(1);
  });
});
