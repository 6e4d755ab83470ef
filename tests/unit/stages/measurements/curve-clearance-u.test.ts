import { describe, expect, it } from 'vitest';
import type { MeasuredLayout, MeasuredPiece, MeasuredSide } from '../../../../server/scene/measured-layout.js';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { distancesAt } from '../../../../server/stages/measurements/distances.js';

const curvature = 1 / 400;

/** A curve that starts at (0, 0) along `headingRad` and a side of the table along y = -100; the piece's covariance is given. */
function uAt(s: number, headingRad: number, direction: readonly [number, number, number], sigma: number): number {
  const piece: MeasuredPiece = {
    arc: { x: 0, y: 0, headingRad, curvaturePerMm: curvature, halfLengthMm: 300 },
    arcIndex: 0,
    straight: false,
    seen: true,
    fromS: -300,
    toS: 300,
  };
  const side: MeasuredSide = {
    name: 'A',
    arc: { x: 0, y: -100, headingRad: 0, curvaturePerMm: 0, halfLengthMm: 1000 },
    arcIndex: 1,
    fromS: -1000,
    toS: 1000,
    fromCorner: true,
    toCorner: true,
  };
  const covariance = direction.flatMap((a) => direction.map((b) => a * b * sigma ** 2));
  const layout: MeasuredLayout = {
    cameras: [],
    photoNames: [],
    photoSizesPx: [],
    track: tallTrack,
    railTopOffMm: 0,
    runs: [],
    sides: [side],
    arcCovariance: (a, b) => (a === 0 && b === 0 ? covariance : new Array<number>(9).fill(0)),
  };
  const run = { id: 'R1', closed: false, photo: 0, pieces: [piece], joints: [], jointPlaces: [], hidden: [] };
  return distancesAt(layout, run, piece, s)[0].distance.u;
}

describe('uncertainty of the clearance of a curve', () => {
  it('stays small when the curve may slide far along itself, everywhere on it and whatever its heading', () => {
    for (const heading of [0, 0.4, 2.1, -1.3])
      for (const s of [-250, -80, 0, 120, 260]) {
        const u = uAt(s, heading, [Math.cos(heading), Math.sin(heading), curvature], 20);
        expect(u).toBeLessThan(0.4);
      }
  });

  it('counts a shift across the side in full where the curve runs along the side', () => {
    expect(uAt(0, 0, [0, 1, 0], 3)).toBeCloseTo(Math.hypot(3, 0.2), 2);
  });

  it('grows with the distance from where the curve is held when its heading is uncertain', () => {
    const near = uAt(50, 0, [0, 0, 1], 0.01);
    const far = uAt(250, 0, [0, 0, 1], 0.01);
    expect(far).toBeGreaterThan(2 * near);
  });
});
