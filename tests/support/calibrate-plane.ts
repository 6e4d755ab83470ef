import type { Camera, Lens, Pose } from '../../server/geometry/camera.js';
import { emptyProjection, projectWithDerivatives } from '../../server/geometry/project-with-derivatives.js';
import { multiply3, orthonormalised, rotationFromVector } from '../../server/geometry/rotation.js';
import { type LeastSquaresProblem, solveLeastSquares } from '../../server/linalg/least-squares.js';
import { poseFromMarker } from '../../server/stages/camera/marker-pose.js';

/** A point of a flat target, x right and y up, and where it was seen, px. */
export interface SeenPoint {
  readonly x: number;
  readonly y: number;
  readonly px: number;
  readonly py: number;
}

export interface Calibration {
  readonly lens: Lens;
  readonly poses: readonly Pose[];
  /** Root mean square of the distances between seen and projected points, px. */
  readonly rmsPx: number;
  /** Standard uncertainties of fx, fy, cx, cy, k1, k2, p1, p2 for residuals of their own scatter. */
  readonly u: readonly number[];
}

/** Order of the lens in the parameters, and the columns of `byLens` that belong to each (fx and fy share one). */
const lensNames = ['fx', 'fy', 'cx', 'cy', 'k1', 'k2', 'p1', 'p2'] as const;
const columnOf = [0, 0, 3, 4, 1, 2, 5, 6];
const LENS = lensNames.length;

/**
 * Camera calibration from several views of one flat target, with the product's own projection, derivatives, starting
 * pose and solver; only the bookkeeping of the parameters is here.
 * @param corners indices of four points that make a rectangle: upper left, upper right, lower right, lower left
 * @param tangential whether p1 and p2 are unknown; else they stay 0
 */
export function calibratePlane(
  views: readonly (readonly SeenPoint[])[],
  corners: readonly [number, number, number, number],
  start: Lens,
  tangential = false,
): Calibration {
  const [ul, ur] = corners.map((i) => views[0][i]);
  const side = Math.hypot(ur.x - ul.x, ur.y - ul.y);
  const middle = corners.reduce(([x, y], i) => [x + views[0][i].x / 4, y + views[0][i].y / 4], [0, 0]);
  const points = views.map((v) => v.map((p) => ({ ...p, x: p.x - middle[0], y: p.y - middle[1] })));
  const first = points.map((v) => {
    const pose = poseFromMarker(
      start,
      corners.map((i) => [v[i].px, v[i].py] as const),
      side,
    );
    if (pose === null) throw new Error('corners are degenerate');
    return pose;
  });
  const stateAt = (p: ArrayLike<number>): Camera[] => {
    const lens = Object.fromEntries(lensNames.map((name, i) => [name, start[name] + p[i]])) as unknown as Lens;
    return first.map((pose, v) => {
      const o = LENS + 6 * v;
      const t = pose.translation;
      return {
        lens,
        cameraFromTable: {
          rotation: orthonormalised(multiply3(rotationFromVector(p[o], p[o + 1], p[o + 2]), pose.rotation)),
          translation: [t[0] + p[o + 3], t[1] + p[o + 4], t[2] + p[o + 5]],
        },
      };
    });
  };
  const problem = problemOf(points, stateAt, tangential);
  const solved = solveLeastSquares(problem, new Float64Array(problem.parameterCount), {
    loss: { kind: 'squared' },
    maxIterations: 300,
    costTolerance: 1e-14,
    startDamping: 1,
  });
  const count = points.reduce((sum, v) => sum + v.length, 0);
  const unknowns = problem.parameterCount - (tangential ? 0 : 2);
  const variance = (2 * solved.cost) / (2 * count - unknowns);
  const covariance = solved.covariance;
  if (covariance === null) throw new Error('no covariance');
  const cameras = stateAt(solved.parameters);
  return {
    lens: cameras[0].lens,
    poses: cameras.map((c) => c.cameraFromTable),
    rmsPx: Math.sqrt((2 * solved.cost) / count),
    u: lensNames.map((_, i) => Math.sqrt(variance * covariance[i * problem.parameterCount + i])),
  };
}

function problemOf(
  views: readonly (readonly SeenPoint[])[],
  stateAt: (p: ArrayLike<number>) => Camera[],
  tangential: boolean,
): LeastSquaresProblem {
  const q = emptyProjection();
  const index = new Int32Array(LENS + 6);
  const derivative = new Float64Array(LENS + 6);
  return {
    parameterCount: LENS + 6 * views.length,
    evaluate(p, sink) {
      const cameras = stateAt(p);
      views.forEach((view, v) => {
        for (const seen of view) {
          projectWithDerivatives(cameras[v], seen.x, seen.y, 0, q);
          for (const row of [0, 1]) {
            columnOf.forEach((column, i) => {
              index[i] = i;
              const other = i === 1 - row;
              derivative[i] = other ? 0 : q.byLens[7 * row + column];
            });
            for (let k = 0; k < 6; k++) {
              index[LENS + k] = LENS + 6 * v + k;
              derivative[LENS + k] = q.byPose[6 * row + k];
            }
            sink(row === 0 ? q.u - seen.px : q.v - seen.py, index, derivative, LENS + 6);
          }
        }
      });
      if (!tangential) for (const i of [6, 7]) sink(p[i] * 1e9, [i], [1e9], 1);
    },
  };
}
