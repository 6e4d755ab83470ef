import { type ResidualSink, solveLeastSquares } from '../../linalg/least-squares.js';
import { describeSolution } from './describe-solution.js';
import { AT, PROJECTION_LENGTH, projectModule, type RadialLens } from './marker-model.js';
import { edgeSigmaPx, type MarkerState, OWN_NUMBERS } from './marker-state.js';

/**
 * Radial term of phone pictures, after the phone's own correction: −0.03 ± 0.04 covers those seen (common practice, no
 * source). One marker near the middle cannot tell; several, or a large one near a corner, overrule it.
 */
const USUAL_K = -0.03;
const USUAL_K_SIGMA = 0.04;
/** Spread of bright areas before anything is seen: none, give or take this, px. */
const SPREAD_SIGMA_PX = 0.5;
/** Markers solved at once: the time goes with the cube. The largest come first and settle the radial term for the rest. */
const MOST_AT_ONCE = 20;
/** Fewer edges do not hold a marker. */
const LEAST_EDGES = 16;

interface RadialPrior {
  readonly value: number;
  readonly sigma: number;
}

/**
 * Fits homography and spread of every marker, and one radial term for all, to the edges read. Changes the states.
 * @param robust leave out far edges altogether (once the start is good), not only weaken them
 * @returns the radial term
 */
export function solveMarkers(
  states: readonly (MarkerState | null)[],
  lens: RadialLens,
  startK: number,
  robust: boolean,
): number {
  for (const state of states) if (state !== null) state.solution = null;
  const live = states.filter((state): state is MarkerState => state !== null && state.readings.length >= LEAST_EDGES);
  live.sort((one, other) => other.frame.scalePx - one.frame.scalePx);
  let k = startK;
  let prior: RadialPrior = { value: USUAL_K, sigma: USUAL_K_SIGMA };
  for (let from = 0; from < live.length; from += MOST_AT_ONCE) {
    k = solveGroup(live.slice(from, from + MOST_AT_ONCE), lens, k, prior, robust);
    prior = { value: k, sigma: SETTLED_K_SIGMA };
  }
  return k;
}

/** As good as fixed. */
const SETTLED_K_SIGMA = 1e-3;

function solveGroup(
  group: readonly MarkerState[],
  lens: RadialLens,
  startK: number,
  prior: RadialPrior,
  robust: boolean,
): number {
  const n = group.length * OWN_NUMBERS + 1;
  const start = new Float64Array(n);
  group.forEach((state, m) => {
    start.set(state.h, m * OWN_NUMBERS);
    start[m * OWN_NUMBERS + 8] = state.spreadPx;
  });
  start[n - 1] = startK;
  const problem = {
    parameterCount: n,
    evaluate: (p: Float64Array, sink: ResidualSink) => evaluate(group, lens, prior, p, sink),
  };
  let solved = solveLeastSquares(problem, start, {
    loss: { kind: 'huber', width: 1.5 },
    maxIterations: 20,
    costTolerance: 1e-6,
  });
  if (robust)
    solved = solveLeastSquares(problem, solved.parameters, {
      loss: { kind: 'cauchy', width: 2.5 },
      maxIterations: 20,
      costTolerance: 1e-8,
    });
  group.forEach((state, m) => {
    state.h = solved.parameters.slice(m * OWN_NUMBERS, m * OWN_NUMBERS + 8);
    state.spreadPx = solved.parameters[m * OWN_NUMBERS + 8];
    state.solution = describeSolution(state, m, lens, solved.parameters, solved.covariance);
  });
  return solved.parameters[n - 1];
}

const projection = new Float64Array(PROJECTION_LENGTH);
const index = new Int32Array(OWN_NUMBERS + 1);
const derivative = new Float64Array(OWN_NUMBERS + 1);

/** One residual for each edge, and the priors of spread and radial term. Exported for the check of its derivatives. */
export function evaluate(
  group: readonly MarkerState[],
  lens: RadialLens,
  prior: RadialPrior,
  p: Float64Array,
  sink: ResidualSink,
): void {
  const k = p[p.length - 1];
  group.forEach((state, m) => {
    for (const reading of state.readings) {
      const { edge, predicted, fit } = reading;
      const { nx, ny } = predicted;
      projectModule(p, m * OWN_NUMBERS, state.frame, lens, k, edge.a, edge.b, projection);
      const sigma = edgeSigmaPx(reading);
      const moved = nx * (projection[AT.x] - predicted.x) + ny * (projection[AT.y] - predicted.y);
      const residual = (moved + edge.darkSide * p[m * OWN_NUMBERS + 8] - fit.offsetPx) / sigma;
      for (let i = 0; i < 8; i++) {
        index[i] = m * OWN_NUMBERS + i;
        derivative[i] = (nx * projection[AT.xh + i] + ny * projection[AT.yh + i]) / sigma;
      }
      index[8] = m * OWN_NUMBERS + 8;
      derivative[8] = edge.darkSide / sigma;
      index[9] = p.length - 1;
      derivative[9] = (nx * projection[AT.xk] + ny * projection[AT.yk]) / sigma;
      sink(residual, index, derivative, OWN_NUMBERS + 1);
    }
    index[0] = m * OWN_NUMBERS + 8;
    derivative[0] = 1 / SPREAD_SIGMA_PX;
    sink(p[m * OWN_NUMBERS + 8] / SPREAD_SIGMA_PX, index, derivative, 1);
  });
  index[0] = p.length - 1;
  derivative[0] = 1 / prior.sigma;
  sink((k - prior.value) / prior.sigma, index, derivative, 1);
}
