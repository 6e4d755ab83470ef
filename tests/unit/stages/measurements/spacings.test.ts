import { describe, expect, it } from 'vitest';
import type { MeasuredLayout, MeasuredPiece, MeasuredRun } from '../../../../server/scene/measured-layout.js';
import { railsModelUMm, spacingsBetween } from '../../../../server/stages/measurements/spacings.js';

/** A straight along x at a height y, 400 mm long. */
function straight(y: number, arcIndex: number): MeasuredPiece {
  const arc = { x: 0, y, headingRad: 0, curvaturePerMm: 0, halfLengthMm: 200 };
  return { arc, arcIndex, straight: true, seen: true, fromS: -200, toS: 200 };
}

const run = (id: string, piece: MeasuredPiece): MeasuredRun =>
  ({ id, closed: false, photo: 0, pieces: [piece], joints: [], jointPlaces: [], hidden: [] }) as MeasuredRun;

/** Two straights 100 mm apart; the covariance of (x, y, heading) of two arcs is given. */
function spacings(covariance: (a: number, b: number) => readonly number[] | null) {
  const layout = {
    cameras: [],
    photoNames: [],
    photoSizesPx: [],
    track: { railTopMm: 17.5, headWidthMm: 3 },
    railTopOffMm: 0,
    runs: [run('R1', straight(0, 0)), run('R2', straight(100, 1))],
    sides: [],
    arcCovariance: covariance,
  } as unknown as MeasuredLayout;
  return spacingsBetween(layout).filter((s) => s.runs[0] === 'R1');
}

/** Variances of x, y and heading, nothing together. */
const apart = (x: number, y: number, heading: number): number[] => [x ** 2, 0, 0, 0, y ** 2, 0, 0, 0, heading ** 2];
const none = apart(0, 0, 0);

describe('how sure a spacing is', () => {
  it('has the uncertainties of both runs across them', () => {
    const all = spacings((a, b) => (a !== b ? none : a === 0 ? apart(9, 0.4, 0) : apart(9, 0.7, 0)));
    expect(all.length).toBeGreaterThan(10);
    for (const { distance } of all) {
      expect(distance.value).toBeCloseTo(100, 9);
      expect(distance.u).toBeCloseTo(Math.hypot(0.4, 0.7, railsModelUMm), 9);
    }
  });

  it('does not count what moves both runs together', () => {
    for (const { distance } of spacings(() => apart(2, 5, 0))) expect(distance.u).toBeCloseTo(railsModelUMm, 9);
  });

  it('grows along runs whose headings are unsure, away from where they are held', () => {
    const all = spacings((a, b) => (a === b ? apart(0, 0, 0.002) : none));
    const atEnd = all.find((s) => Math.abs(s.at[0]) > 199);
    const inMiddle = all.find((s) => Math.abs(s.at[0]) < 1);
    expect(atEnd?.distance.u).toBeCloseTo(Math.hypot(0.4, 0.4, railsModelUMm), 6);
    expect(inMiddle?.distance.u).toBeCloseTo(railsModelUMm, 6);
  });
});
