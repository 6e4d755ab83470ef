import { describe, expect, it } from 'vitest';
import { type Camera, photoFromTable } from '../../../../server/geometry/camera.js';
import { multiply3, rotationFromVector } from '../../../../server/geometry/rotation.js';
import { type Arc, type LineObservation, pointOnArc } from '../../../../server/scene/track-observation.js';
import { outerHeadOffsetMm, tallTrack } from '../../../../server/scene/track-profile.js';
import {
  type AdjustmentInput,
  adjust,
  adjustmentProblem,
  lineShare,
} from '../../../../server/stages/camera/adjustment.js';
import { normalFrom, seededRandom } from '../../../support/seeded-random.js';

const camera: Camera = {
  lens: { fx: 3000, fy: 3000, cx: 2015, cy: 1511, k1: -0.03, k2: 0.01, p1: 0, p2: 0 },
  cameraFromTable: { rotation: rotationFromVector(Math.PI - 0.2, 0.05, 0.1), translation: [-120, 80, 1900] },
};
const marker = { id: 7, x: 0, y: 0, turnRad: 0.3 };
const curve: Arc = { x: 350, y: -150, headingRad: 0.7, curvaturePerMm: 1 / 400, halfLengthMm: 150 };
/** Where the pose stands among the unknowns: after one lens. */
const poseAt = 7;
const axisZ = tallTrack.railTopMm - tallTrack.headWidthMm / 2;

function cornersPx(by = camera, printed = 1): [number, number][] {
  return [
    [-1, 1],
    [1, 1],
    [1, -1],
    [-1, -1],
  ].map(([a, b]) => {
    const c = Math.cos(marker.turnRad);
    const s = Math.sin(marker.turnRad);
    const half = 60 * printed;
    const p = photoFromTable(by, half * (a * c - b * s), half * (a * s + b * c), 0);
    return [p.x, p.y];
  });
}

/** What the camera sees of the curve's three rails, each place with the normal of its rail in the picture. */
function railsOf(arc: Arc, by = camera, gauge = 1, railTopOffMm = 0): LineObservation[] {
  const out: LineObservation[] = [];
  const z = axisZ + railTopOffMm;
  for (let s = -140; s <= 140; s += 10)
    for (const rail of [-1, 0, 1] as const) {
      const at = pointOnArc(arc, s, rail * gauge * outerHeadOffsetMm(tallTrack));
      const p = photoFromTable(by, at.x, at.y, z);
      const q = photoFromTable(by, at.x + Math.cos(at.headingRad), at.y + Math.sin(at.headingRad), z);
      const length = Math.hypot(q.x - p.x, q.y - p.y);
      const [normalX, normalY] = [-(q.y - p.y) / length, (q.x - p.x) / length];
      out.push({ photo: 0, arc: 0, s, rail, kind: 'rail', px: p.x, py: p.y, normalX, normalY, sigmaPx: 0.7 });
    }
  return out;
}

function inputWith(arc: Arc, from = camera): AdjustmentInput {
  return {
    state: {
      lenses: [camera.lens],
      lensOfPhoto: [0],
      cameras: [from],
      markers: [marker],
      arcs: [arc],
      straight: [false],
      printScale: 1,
      gaugeScale: 1,
      railTopOffMm: 0,
    },
    markerSideMm: 120,
    track: tallTrack,
    markerObservations: [{ photo: 0, marker: 0, cornersPx: cornersPx(), sigmaPx: 0.1 }],
    lineObservations: railsOf(curve),
    tapes: [],
    focalPrior: [{ valuePx: 3000, uPx: 20 }],
    principalPoints: [{ xPx: 2015, yPx: 1511, uPx: [12, 12] }],
    robustWidth: 2,
    maxIterations: 40,
  };
}

describe('the adjustment', () => {
  it('has derivatives that agree with central differences for everything that is seen', () => {
    // As it starts; and with the curve slid, turned and bent away from what is seen, by a camera that was turned far back
    // to where it is. Then the place that faces an observation, found by one step, is not quite the nearest.
    const bent = { ...curve, x: curve.x + 9, headingRad: curve.headingRad + 0.02, curvaturePerMm: 1 / 405 };
    for (const [arc, turn, share] of [
      [curve, [0, 0, 0], 2e-4],
      [bent, [0.2, -0.1, 0.3], 1e-3],
    ] as const) {
      const { rotation, translation } = camera.cameraFromTable;
      const turned = multiply3(rotationFromVector(-turn[0], -turn[1], -turn[2]), rotation);
      const input = inputWith(arc, { ...camera, cameraFromTable: { rotation: turned, translation } });
      const problem = adjustmentProblem(input);
      const at = new Float64Array(problem.parameterCount);
      at.set(turn, poseAt);
      const residuals = (step: Float64Array): number[] => {
        const out: number[] = [];
        problem.evaluate(problem.stepped?.(at, step) ?? at, (r) => out.push(r));
        return out;
      };
      const rows: Map<number, number>[] = [];
      problem.evaluate(at, (_, index, derivative, count) => {
        const row = new Map<number, number>();
        for (let n = 0; n < count; n++) row.set(index[n], (row.get(index[n]) ?? 0) + derivative[n]);
        rows.push(row);
      });
      for (let k = 0; k < problem.parameterCount; k++) {
        const column = rows.map((row) => row.get(k) ?? 0);
        const scale = Math.max(...column.map(Math.abs));
        const h = 1e-4 / Math.max(1, scale);
        const [up, down] = [h, -h].map((d) => residuals(Float64Array.from(at, (_, i) => (i === k ? d : 0))));
        column.forEach((d, i) => {
          expect(Math.abs(d - (up[i] - down[i]) / (2 * h))).toBeLessThan(share * Math.max(1, scale));
        });
      }
    }
  });

  it('is solved in few steps although the curve slid and turned', () => {
    const slid = { ...curve, x: curve.x + 25, y: curve.y + 12, headingRad: curve.headingRad + 0.05 };
    const { converged, lineResidualsPx } = adjust({ ...inputWith(slid), maxIterations: 8 });
    expect(converged).toBe(true);
    expect(Math.max(...lineResidualsPx.map(Math.abs))).toBeLessThan(0.01);
  });

  it('finds a curve again that slid along itself, where the rails are and not beside them', () => {
    for (const slide of [-45, 30]) {
      const at = pointOnArc(curve, slide);
      const slid = { ...curve, x: at.x, y: at.y, headingRad: at.headingRad };
      const { state } = adjust(inputWith(slid));
      const centre = (a: Arc): [number, number] => [
        a.x - Math.sin(a.headingRad) / a.curvaturePerMm,
        a.y + Math.cos(a.headingRad) / a.curvaturePerMm,
      ];
      const [cx, cy] = centre(state.arcs[0]);
      const [tx, ty] = centre(curve);
      const radius = 1 / state.arcs[0].curvaturePerMm;
      for (const turn of [0.4, 0.7, 1]) {
        const x = tx + 400 * Math.sin(turn);
        const y = ty - 400 * Math.cos(turn);
        expect(Math.abs(Math.hypot(x - cx, y - cy) - radius)).toBeLessThan(0.02);
      }
    }
  });

  it('has the covariance that solutions of drawn cameras and readings have (Monte Carlo, JCGM 101:2008)', () => {
    const normal = normalFrom(seededRandom(11));
    const { lens } = camera;
    const inSigmas = Array.from({ length: 400 }, () => {
      const printed = 1 + 3e-4 * normal();
      const gauge = 1 + 5e-3 * normal();
      const railTopOffMm = tallTrack.railTopUMm * normal();
      const fx = lens.fx + 20 * normal();
      const drawn: Camera = {
        ...camera,
        lens: {
          fx,
          fy: fx,
          cx: lens.cx + 12 * normal(),
          cy: lens.cy + 12 * normal(),
          k1: -0.03 + 0.03 * normal(),
          k2: 0.01 + 0.02 * normal(),
          p1: 4e-4 * normal(),
          p2: 4e-4 * normal(),
        },
      };
      const { state, covariance, layout } = adjust({
        ...inputWith(curve),
        markerObservations: [
          {
            photo: 0,
            marker: 0,
            cornersPx: cornersPx(drawn, printed).map(([x, y]) => [x + 0.1 * normal(), y + 0.1 * normal()] as const),
            sigmaPx: 0.1,
          },
        ],
        // Rails scatter less than they are weighed for.
        lineObservations: railsOf(curve, drawn, gauge, railTopOffMm).map((o) => {
          const offPx = lineShare * o.sigmaPx * normal();
          return { ...o, px: o.px + offPx * o.normalX, py: o.py + offPx * o.normalY };
        }),
      });
      if (!covariance) throw new Error('there is a covariance');
      // What rails tell next to alone.
      const at = layout.arc[0] + 3;
      return (state.arcs[0].curvaturePerMm - curve.curvaturePerMm) / Math.sqrt(covariance[at * layout.count + at]);
    });
    const rms = Math.sqrt(inSigmas.reduce((sum, z) => sum + z * z, 0) / inSigmas.length);
    expect(rms).toBeGreaterThan(0.9);
    expect(rms).toBeLessThan(1.15);
  });
});
