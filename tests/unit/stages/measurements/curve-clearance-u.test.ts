import { describe, expect, it } from 'vitest';
import type { MeasuredPiece } from '../../../../server/scene/measured-layout.js';
import { modelUMm } from '../../../../server/stages/measurements/distances.js';
import { distanceToSide } from '../../../support/piece-beside-side.js';

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
  const covariance = direction.flatMap((a) => direction.map((b) => a * b * sigma ** 2));
  return distanceToSide(piece, covariance, s).u;
}

describe('uncertainty of the clearance of a curve', () => {
  it('stays small when the curve may slide far along itself, everywhere on it and whatever its heading', () => {
    for (const heading of [0, 0.4, 2.1, -1.3])
      for (const s of [-250, -80, 0, 120, 260]) {
        const u = uAt(s, heading, [Math.cos(heading), Math.sin(heading), curvature], 20);
        expect(u).toBeLessThan(0.45);
      }
  });

  it('counts a shift across the side in full where the curve runs along the side', () => {
    expect(uAt(0, 0, [0, 1, 0], 3)).toBeCloseTo(Math.hypot(3, modelUMm), 2);
  });

  it('grows with the distance from where the curve is held when its heading is uncertain', () => {
    const near = uAt(50, 0, [0, 0, 1], 0.01);
    const far = uAt(250, 0, [0, 0, 1], 0.01);
    expect(far).toBeGreaterThan(2 * near);
  });
});
