import { solveLeastSquares } from '../../linalg/least-squares.js';
import type { PredictedEdge } from './edge-patch.js';
import { AT, type MarkerFrame, PROJECTION_LENGTH, projectModule, type RadialLens } from './marker-model.js';
import type { ModuleEdge } from './module-edges.js';
import type { EdgeFit } from './rough-edge.js';

export interface EdgeReading {
  readonly edge: ModuleEdge;
  readonly predicted: PredictedEdge;
  readonly fit: EdgeFit;
}

/** Everything known of one marker while it is refined. */
export interface MarkerState {
  readonly frame: MarkerFrame;
  readonly edges: readonly ModuleEdge[];
  /** One module in the tag's coordinates. */
  readonly unit: number;
  h: Float64Array;
  readings: EdgeReading[];
  /** How far bright areas reach into dark ones, px. */
  spreadPx: number;
  /** Covariance xx, xy, yy of the blur, px². */
  blur: readonly [number, number, number];
  solution: MarkerSolution | null;
}

export interface MarkerSolution {
  /** Corners in the tag's order x0 y0 … x3 y3, px, and their standard uncertainty (root mean square over coordinates). */
  readonly corners: Float64Array;
  readonly sigmaPx: number;
  /** Root mean square distance of the edges from the model, px, those set aside not counted. */
  readonly residualPx: number;
  /** Edges, and how many of them agree with the model. */
  readonly edgeCount: number;
  readonly agreeing: number;
}

/**
 * Radial term of phone pictures, after the phone's own correction: −0.03 ± 0.04 covers those seen (common practice, no
 * source). One marker near the middle cannot tell; several, or a large one near a corner, overrule it.
 */
const USUAL_K = -0.03;
const USUAL_K_SIGMA = 0.04;
/** Spread of bright areas before anything is seen: none, give or take this, px. */
const SPREAD_SIGMA_PX = 0.5;
/** What one edge's own scatter does not tell: print, paper, pixel grid, px and modules (common practice, no source). */
const EDGE_FLOOR_PX = 0.02;
const EDGE_FLOOR_MODULES = 0.001;

/** Numbers of one marker: eight of its homography and its spread. */
const OWN = 9;

/**
 * Fits homography and spread of every marker, and one radial term for all, to the edges read. Changes the states.
 * @returns the radial term
 */
export function solveMarkers(
  states: readonly (MarkerState | null)[],
  lens: RadialLens,
  startK: number,
  round: number,
): number {
  const live = states.filter((state): state is MarkerState => state !== null && state.readings.length >= 16);
  if (live.length === 0) return startK;
  const n = live.length * OWN + 1;
  const start = new Float64Array(n);
  live.forEach((state, m) => {
    start.set(state.h, m * OWN);
    start[m * OWN + 8] = state.spreadPx;
  });
  start[n - 1] = startK;
  const problem = {
    parameterCount: n,
    evaluate: (p: Float64Array, sink: (r: number, i: ArrayLike<number>, d: ArrayLike<number>, c: number) => void) =>
      evaluate(live, lens, p, sink),
  };
  const first = solveLeastSquares(problem, start, {
    loss: { kind: 'huber', width: 1.5 },
    maxIterations: 20,
    costTolerance: 1e-6,
  });
  const solved =
    round === 0
      ? first
      : solveLeastSquares(problem, first.parameters, {
          loss: { kind: 'cauchy', width: 2.5 },
          maxIterations: 20,
          costTolerance: 1e-8,
        });
  live.forEach((state, m) => {
    state.h = solved.parameters.slice(m * OWN, m * OWN + 8);
    state.spreadPx = solved.parameters[m * OWN + 8];
    state.solution = describe(state, m, lens, solved.parameters, solved.covariance);
  });
  return solved.parameters[n - 1];
}

function sigmaOf({ fit, predicted }: EdgeReading): number {
  return Math.hypot(fit.sigmaPx, EDGE_FLOOR_PX, EDGE_FLOOR_MODULES * predicted.widthPx);
}

const projection = new Float64Array(PROJECTION_LENGTH);
const index = new Int32Array(OWN + 1);
const derivative = new Float64Array(OWN + 1);

function evaluate(
  live: readonly MarkerState[],
  lens: RadialLens,
  p: Float64Array,
  sink: (residual: number, index: ArrayLike<number>, derivative: ArrayLike<number>, count: number) => void,
): void {
  const k = p[p.length - 1];
  live.forEach((state, m) => {
    for (const reading of state.readings) {
      const { edge, predicted, fit } = reading;
      const { nx, ny } = predicted;
      projectModule(p, m * OWN, state.frame, lens, k, edge.a, edge.b, projection);
      const sigma = sigmaOf(reading);
      const moved = nx * (projection[AT.x] - predicted.x) + ny * (projection[AT.y] - predicted.y);
      const residual = (moved + edge.darkSide * p[m * OWN + 8] - fit.offsetPx) / sigma;
      for (let i = 0; i < 8; i++) {
        index[i] = m * OWN + i;
        derivative[i] = (nx * projection[AT.xh + i] + ny * projection[AT.yh + i]) / sigma;
      }
      index[8] = m * OWN + 8;
      derivative[8] = edge.darkSide / sigma;
      index[9] = p.length - 1;
      derivative[9] = (nx * projection[AT.xk] + ny * projection[AT.yk]) / sigma;
      sink(residual, index, derivative, OWN + 1);
    }
    index[0] = m * OWN + 8;
    derivative[0] = 1 / SPREAD_SIGMA_PX;
    sink(p[m * OWN + 8] / SPREAD_SIGMA_PX, index, derivative, 1);
  });
  index[0] = p.length - 1;
  derivative[0] = 1 / USUAL_K_SIGMA;
  sink((k - USUAL_K) / USUAL_K_SIGMA, index, derivative, 1);
}

function describe(
  state: MarkerState,
  m: number,
  lens: RadialLens,
  p: Float64Array,
  covariance: Float64Array | null,
): MarkerSolution {
  const n = p.length;
  const k = p[n - 1];
  let squares = 0;
  let agreeing = 0;
  let scaled = 0;
  for (const reading of state.readings) {
    const { edge, predicted, fit } = reading;
    projectModule(p, m * OWN, state.frame, lens, k, edge.a, edge.b, projection);
    const moved = predicted.nx * (projection[AT.x] - predicted.x) + predicted.ny * (projection[AT.y] - predicted.y);
    const residual = moved + edge.darkSide * p[m * OWN + 8] - fit.offsetPx;
    const inSigmas = residual / sigmaOf(reading);
    if (Math.abs(inSigmas) > 6 && Math.abs(residual) > 0.1 * predicted.widthPx) continue;
    agreeing++;
    squares += residual * residual;
    scaled += Math.min(25, inSigmas * inSigmas);
  }
  const excess = Math.max(1, scaled / Math.max(1, agreeing - OWN));
  const corners = new Float64Array(8);
  let variance = 0;
  [
    [-1, -1],
    [1, -1],
    [1, 1],
    [-1, 1],
  ].forEach(([a, b], c) => {
    projectModule(p, m * OWN, state.frame, lens, k, a, b, projection);
    corners[2 * c] = projection[AT.x];
    corners[2 * c + 1] = projection[AT.y];
    if (covariance === null) return;
    for (const [at, byK] of [
      [AT.xh, AT.xk],
      [AT.yh, AT.yk],
    ]) {
      const row: [number, number][] = Array.from({ length: 8 }, (_, i) => [m * OWN + i, projection[at + i]]);
      row.push([n - 1, projection[byK]]);
      for (const [i, di] of row) for (const [j, dj] of row) variance += (di * dj * covariance[i * n + j]) / 8;
    }
  });
  return {
    corners,
    sigmaPx: covariance === null ? Number.POSITIVE_INFINITY : Math.sqrt(variance * excess),
    residualPx: Math.sqrt(squares / Math.max(1, agreeing)),
    edgeCount: state.edges.length,
    agreeing,
  };
}
