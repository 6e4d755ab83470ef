import { describe, expect, it } from 'vitest';
import { type LeastSquaresProblem, solveLeastSquares } from '../../server/linalg/least-squares.js';
import { segmentU } from '../../server/planner/predict.js';
import type { SegmentPlan } from '../../server/planner/read-solution.js';
import { halfWidth95 } from '../../server/units/estimate.js';
import { distanceToSide } from '../support/piece-beside-side.js';
import { seededRandom } from '../support/seeded-random.js';

/** JCGM 100:2008 (GUM), example H.3: correction b of a thermometer against its reading t, reference temperature 20 °C. */
const readings = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.01, 26.511];
const corrections = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.16];

const line: LeastSquaresProblem = {
  parameterCount: 2,
  evaluate(y, sink) {
    readings.forEach((t, i) => {
      sink(y[0] + y[1] * (t - 20) - corrections[i], [0, 1], [1, t - 20], 2);
    });
  },
};

function solvedLine() {
  const { parameters, covariance, cost } = solveLeastSquares(line, new Float64Array(2));
  if (covariance === null) throw new Error('no covariance');
  const variance = (2 * cost) / (readings.length - 2);
  return { parameters, covariance: covariance.map((c) => c * variance), s: Math.sqrt(variance) };
}

/** A straight piece of track along x beside a side of the table. */
function distanceWith(covariance: readonly number[], s: number) {
  const arc = { x: 0, y: 0, headingRad: 0, curvaturePerMm: 0, halfLengthMm: 1000 };
  return distanceToSide({ arc, arcIndex: 0, straight: true, seen: true, fromS: -500, toS: 500 }, covariance, s);
}

describe('uncertainty as the GUM works it out', () => {
  it('gives the line, its uncertainties and their correlation of H.3 from the solver', () => {
    const { parameters, covariance, s } = solvedLine();
    expect(parameters[0]).toBeCloseTo(-0.1712, 4);
    expect(parameters[1]).toBeCloseTo(0.00218, 5);
    expect(Math.sqrt(covariance[0])).toBeCloseTo(0.0029, 4);
    expect(Math.sqrt(covariance[3])).toBeCloseTo(0.00067, 5);
    expect(covariance[1] / Math.sqrt(covariance[0] * covariance[3])).toBeCloseTo(-0.93, 3);
    expect(s).toBeCloseTo(0.0035, 4);
    expect(parameters[0] + 10 * parameters[1]).toBeCloseTo(-0.1494, 4);
  });

  it('extrapolates along a piece of track as H.3 does to 30 °C: 0.0041 with the covariance, not 0.0073 without', () => {
    const { covariance: c } = solvedLine();
    // Scaled up, so that what the product adds for its model is nothing beside it: x, y, heading of the piece.
    const scale = 1e6;
    const full = [0, 0, 0, 0, c[0], c[1], 0, c[1], c[3]].map((v) => v * scale ** 2);
    const without = full.map((v, i) => (i === 5 || i === 7 ? 0 : v));
    expect(distanceWith(full, 10).u / scale).toBeCloseTo(0.0041386, 6);
    expect(distanceWith(without, 10).u / scale).toBeCloseTo(0.0073, 4);
  });

  it('adds independent parts as H.1 does: 25, 9.7, 2.9 and 16.6 nm make 31.7 nm', () => {
    const openGaps = [25, 9.7, 2.9, 16.6].map((u) => ({ length: { value: 50, u } }));
    const plan = { segment: { openGaps, pieces: [], stretch: { lengths: [] } }, kept: [], fillers: [], remade: true };
    expect(segmentU(plan as unknown as SegmentPlan)).toBeCloseTo(31.7, 1);
  });

  it('states ± at 95 % no narrower, and no more than 2 % wider, than JCGM 101:2008, 9.2.3 (four rectangular parts)', () => {
    const stated = halfWidth95({ value: 0, u: 2 });
    // Exact half width 3.8794, published 3.88; and what really lies within it, by drawing.
    expect(stated).toBeGreaterThanOrEqual(3.8794);
    expect(stated).toBeLessThan(1.02 * 3.8794);
    const random = seededRandom(101);
    const part = () => Math.sqrt(3) * (2 * random() - 1);
    let within = 0;
    for (let i = 0; i < 100_000; i++) if (Math.abs(part() + part() + part() + part()) <= stated) within++;
    expect(within / 100_000).toBeGreaterThan(0.949);
    expect(within / 100_000).toBeLessThan(0.958);
  });
});
