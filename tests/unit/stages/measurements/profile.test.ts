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
/** From straight above, a pixel to the millimetre at the table, the origin in the middle. */
const from = (widthPx: number, heightPx: number) => ({
  cameras: [
    {
      lens: { fx: 2000, fy: 2000, cx: widthPx / 2, cy: heightPx / 2, k1: 0, k2: 0, p1: 0, p2: 0 },
      cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [0, 0, 2000] as const },
    },
  ],
  photoNames: ['a.jpg'],
  photoSizesPx: [[widthPx, heightPx] as const],
});
const layout: MeasuredLayout = {
  ...from(3000, 3000),
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

describe('the profile where not all sides were found', () => {
  it('ends where a side is likely to be nearer that no photo shows', () => {
    // The picture ends 70 to 160 mm beyond the track on its right.
    const cropped = { ...layout, ...from(2 * 400, 2 * 1300) };
    const whole = profileOfRun(layout, run);
    const sure = profileOfRun(cropped, run);
    expect(sure.length).toBeGreaterThan(3);
    expect(sure.length).toBeLessThan(whole.length - 3);
    for (const { at, distance } of sure) expect(distance.value / 2).toBeLessThanOrEqual(400 - at[0] + 25);
    const left = whole.filter(({ at }) => !sure.some((p) => p.at[0] === at[0]));
    for (const { at, distance } of left) expect(distance.value / 2).toBeGreaterThan(400 - at[0] - 1);
  });

  it('is whole where all four were, or where those that are missing would be shown', () => {
    const others = [
      { name: 'C', headingRad: Math.PI, x: 600, y: 1500 },
      { name: 'D', headingRad: Math.PI / 2, x: 3000, y: 0 },
    ].map(
      ({ name, headingRad, x, y }, i): MeasuredSide => ({
        ...sides[0],
        name,
        arc: { ...sides[0].arc, x, y, headingRad },
        arcIndex: 3 + i,
      }),
    );
    const cropped = { ...layout, ...from(2 * 470, 2 * 1300), sides: [...sides, ...others] };
    const whole = profileOfRun(layout, run).length;
    expect(profileOfRun(cropped, run)).toHaveLength(whole);
    expect(profileOfRun({ ...layout, ...from(2 * 800, 2 * 800) }, run)).toHaveLength(whole);
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
