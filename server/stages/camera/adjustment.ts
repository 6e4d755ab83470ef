import { projectWithDerivatives } from '../../geometry/project-with-derivatives.js';
import { composedRotation } from '../../geometry/rotation.js';
import {
  type LeastSquaresProblem,
  type Loss,
  normalMatrix,
  type ResidualSink,
  solveLeastSquares,
} from '../../linalg/least-squares.js';
import { sandwich } from '../../linalg/sandwich.js';
import { markerCornerInTable } from '../../scene/placed-marker.js';
import type { LineObservation } from '../../scene/track-observation.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { type AdjustmentState, layoutOf, type ParameterLayout, stateFrom } from './adjustment-state.js';
import { DerivativeRow } from './derivative-row.js';
import { lineResiduals } from './line-residuals.js';
import { type CurveFamily, sameRadiusResiduals } from './same-radius.js';
import { type SideTapeObservation, sideTapeResidual } from './side-length.js';
import { type SquareCorner, squareCornerResidual } from './square-corner.js';

/** A marker's four corners seen in one photo. */
export interface MarkerObservation {
  readonly photo: number;
  readonly marker: number;
  /** Upper left, upper right, lower right, lower left as printed; x, y pairs. */
  readonly cornersPx: readonly (readonly [number, number])[];
  readonly sigmaPx: number;
}

export interface TapeObservation {
  readonly from: number;
  readonly to: number;
  readonly lengthMm: number;
  readonly uMm: number;
}

/** Where the axis of a lens is expected to meet the picture, and the standard uncertainty of that in x and y. */
export interface PrincipalPoint {
  readonly xPx: number;
  readonly yPx: number;
  readonly uPx: readonly [number, number];
}

export interface AdjustmentInput {
  readonly state: AdjustmentState;
  readonly markerSideMm: number;
  readonly track: TrackProfile;
  readonly markerObservations: readonly MarkerObservation[];
  readonly lineObservations: readonly LineObservation[];
  readonly tapes: readonly TapeObservation[];
  readonly sideTapes?: readonly SideTapeObservation[];
  readonly squareCorners?: readonly SquareCorner[];
  readonly curveFamilies?: readonly CurveFamily[];
  /** Prior of the focal length of each lens, and its standard uncertainty, pixels. */
  readonly focalPrior: readonly { readonly valuePx: number; readonly uPx: number }[];
  /** Of each lens. */
  readonly principalPoints: readonly PrincipalPoint[];
  readonly robustWidth: number;
  readonly maxIterations: number;
}

export interface AdjustmentOutput {
  readonly state: AdjustmentState;
  /** Covariance of the parameters, in the order given by `layout`. */
  readonly covariance: Float64Array | null;
  readonly layout: ParameterLayout;
  /** Per line observation, residual in pixels. */
  readonly lineResidualsPx: Float64Array;
  readonly markerResidualsPx: readonly number[];
  /** Half the sum of the robust loss over everything observed. */
  readonly cost: number;
  readonly converged: boolean;
}

/** Priors, one standard uncertainty each; phone main cameras, from memory of published calibrations. */
const priors = {
  k1: { value: -0.03, u: 0.03 },
  k2: { value: 0.01, u: 0.02 },
  tangential: 4e-4,
  printScale: 3e-4,
  gaugeScale: 5e-3,
};

/**
 * What places on lines scatter by, a share of the sigma they are weighed with: found on pictures with known truth, where
 * intervals of 95 % held 98 % of rails and edges with the whole of it.
 */
export const lineShare = 0.5;

class Evaluator implements LeastSquaresProblem {
  readonly parameterCount: number;
  private readonly row: DerivativeRow;

  constructor(
    private readonly input: AdjustmentInput,
    private readonly layout: ParameterLayout,
  ) {
    this.parameterCount = layout.count;
    this.row = new DerivativeRow(layout, input.state.lensOfPhoto);
  }

  /** Poses turn one turn after the other: a step's derivatives are those at the pose that has been reached. */
  stepped(parameters: Float64Array, step: Float64Array): Float64Array {
    const out = parameters.map((p, i) => p + step[i]);
    for (const o of this.layout.pose) out.set(composedRotation(triple(step, o), triple(parameters, o)), o);
    return out;
  }

  evaluate(parameters: Float64Array, sink: ResidualSink, derivatives = true): void {
    const state = stateFrom(this.input.state, this.layout, parameters);
    this.markerResiduals(state, sink);
    lineResiduals(this.input, state, this.layout, this.row, sink, derivatives);
    this.otherResiduals(state, parameters, sink);
    this.holdArcs(state, parameters, sink);
  }

  /** All but the places on lines, and what keeps arcs without them from drifting. */
  evaluateBesideLines(parameters: Float64Array, sink: ResidualSink): void {
    const state = stateFrom(this.input.state, this.layout, parameters);
    this.markerResiduals(state, sink);
    this.otherResiduals(state, parameters, sink);
  }

  private otherResiduals(state: AdjustmentState, parameters: Float64Array, sink: ResidualSink): void {
    this.tapeResiduals(state, sink);
    for (const tape of this.input.sideTapes ?? []) sideTapeResidual(tape, state.arcs, this.layout.arc, sink);
    for (const corner of this.input.squareCorners ?? [])
      squareCornerResidual(corner, state.arcs, this.layout.arc, sink);
    for (const family of this.input.curveFamilies ?? []) sameRadiusResiduals(family, state.arcs, this.layout.arc, sink);
    this.priorResiduals(state, parameters, sink);
  }

  private markerResiduals(state: AdjustmentState, sink: ResidualSink): void {
    const { row, layout } = this;
    const { index, derivative, projection: q } = row;
    const side = this.input.markerSideMm * state.printScale;
    for (const seen of this.input.markerObservations) {
      const marker = state.markers[seen.marker];
      for (let k = 0; k < 4; k++) {
        const [x, y] = markerCornerInTable(marker, side, k);
        projectWithDerivatives(state.cameras[seen.photo], x, y, 0, q);
        for (let axis = 0; axis < 2; axis++) {
          const scale = 1 / seen.sigmaPx;
          let n = row.camera(seen.photo, (1 - axis) * scale, axis * scale);
          const gx = scale * q.byPoint[3 * axis];
          const gy = scale * q.byPoint[3 * axis + 1];
          const o = layout.marker[seen.marker];
          index[n] = o;
          derivative[n++] = gx;
          index[n] = o + 1;
          derivative[n++] = gy;
          index[n] = o + 2;
          derivative[n++] = -gx * (y - marker.y) + gy * (x - marker.x);
          index[n] = layout.printScale;
          derivative[n++] = (gx * (x - marker.x) + gy * (y - marker.y)) / state.printScale;
          sink(scale * ((axis === 0 ? q.u : q.v) - seen.cornersPx[k][axis]), index, derivative, n);
        }
      }
    }
  }

  private tapeResiduals(state: AdjustmentState, sink: ResidualSink): void {
    for (const tape of this.input.tapes) {
      const a = state.markers[tape.from];
      const b = state.markers[tape.to];
      const length = Math.hypot(b.x - a.x, b.y - a.y);
      const cx = (b.x - a.x) / length / tape.uMm;
      const cy = (b.y - a.y) / length / tape.uMm;
      const oa = this.layout.marker[tape.from];
      const ob = this.layout.marker[tape.to];
      sink((length - tape.lengthMm) / tape.uMm, [oa, oa + 1, ob, ob + 1], [-cx, -cy, cx, cy], 4);
    }
  }

  private priorResiduals(state: AdjustmentState, p: Float64Array, sink: ResidualSink): void {
    const one = oneEntry(sink);
    state.lenses.forEach((lens, i) => {
      const o = this.layout.lens[i];
      const focal = this.input.focalPrior[i];
      one(o, (lens.fx - focal.valuePx) / focal.uPx, 1 / focal.uPx);
      one(o + 1, (lens.k1 - priors.k1.value) / priors.k1.u, 1 / priors.k1.u);
      one(o + 2, (lens.k2 - priors.k2.value) / priors.k2.u, 1 / priors.k2.u);
      const centre = this.input.state.lenses[i];
      const { xPx, yPx, uPx } = this.input.principalPoints[i];
      one(o + 3, (centre.cx + p[o + 3] - xPx) / uPx[0], 1 / uPx[0]);
      one(o + 4, (centre.cy + p[o + 4] - yPx) / uPx[1], 1 / uPx[1]);
      one(o + 5, lens.p1 / priors.tangential, 1 / priors.tangential);
      one(o + 6, lens.p2 / priors.tangential, 1 / priors.tangential);
    });
    // The table frame is held by the first marker.
    const first = this.layout.marker[0];
    for (let k = 0; k < 3; k++) one(first + k, p[first + k] * 1e5, 1e5);
    const u = this.input.track.railTopUMm;
    one(this.layout.printScale, (state.printScale - 1) / priors.printScale, 1 / priors.printScale);
    one(this.layout.gaugeScale, (state.gaugeScale - 1) / priors.gaugeScale, 1 / priors.gaugeScale);
    one(this.layout.railTop, state.railTopOffMm / u, 1 / u);
  }

  private holdArcs(state: AdjustmentState, p: Float64Array, sink: ResidualSink): void {
    const one = oneEntry(sink);
    state.arcs.forEach((_, i) => {
      if (state.straight[i]) one(this.layout.arc[i] + 3, p[this.layout.arc[i] + 3] * 1e8, 1e8);
      // Keeps an arc with too few points from drifting along itself; far weaker than any observation across it.
      const o = this.layout.arc[i];
      one(o, p[o] / 50, 1 / 50);
      one(o + 1, p[o + 1] / 50, 1 / 50);
      one(o + 2, p[o + 2] / 0.5, 1 / 0.5);
      if (!state.straight[i]) one(o + 3, p[o + 3] / 2e-3, 1 / 2e-3);
    });
  }
}

function oneEntry(sink: ResidualSink): (index: number, residual: number, derivative: number) => void {
  return (index, residual, derivative) => sink(residual, [index], [derivative], 1);
}

function triple(values: Float64Array, at: number): [number, number, number] {
  return [values[at], values[at + 1], values[at + 2]];
}

/** The problem that `adjust` solves: its parameters are what is added to the input's state. */
export function adjustmentProblem(input: AdjustmentInput): LeastSquaresProblem {
  return new Evaluator(input, layoutOf(input.state));
}

/**
 * Solves for cameras, markers, arcs (pieces of track and table sides), print scale, gauge and rail height together
 * (bundle adjustment; Triggs et al., LNCS 1883 (2000) 298). Rails are observed at the height of the head's axis.
 */
export function adjust(input: AdjustmentInput): AdjustmentOutput {
  const layout = layoutOf(input.state);
  const problem = new Evaluator(input, layout);
  const loss: Loss = { kind: 'huber', width: input.robustWidth };
  const solution = solveLeastSquares(problem, new Float64Array(layout.count), {
    loss,
    maxIterations: input.maxIterations,
    // A camera that markers alone hold may move far for little.
    costTolerance: input.lineObservations.length > 0 ? 1e-6 : 1e-10,
    startDamping: 1e-8,
  });
  const state = stateFrom(input.state, layout, solution.parameters);
  const markerCount = input.markerObservations.length * 8;
  const lineResidualsPx = new Float64Array(input.lineObservations.length);
  const markerResidualsPx: number[] = [];
  let at = 0;
  const takeResidual = (r: number): void => {
    if (at < markerCount) markerResidualsPx.push(r * input.markerObservations[at >> 3].sigmaPx);
    else if (at - markerCount < lineResidualsPx.length)
      lineResidualsPx[at - markerCount] = r * input.lineObservations[at - markerCount].sigmaPx;
    at++;
  };
  problem.evaluate(solution.parameters, takeResidual, false);
  let covariance: Float64Array | null | undefined;
  return {
    state,
    // Worked out when it is asked for, like the solution's own.
    get covariance() {
      if (covariance === undefined)
        covariance = solution.covariance && covarianceOf(problem, solution.parameters, solution.covariance, loss);
      return covariance;
    },
    layout,
    lineResidualsPx,
    markerResidualsPx,
    cost: solution.cost,
    converged: solution.ended !== 'singular',
  };
}

/**
 * Covariance of the parameters where places on lines scatter less than they are weighed for: H⁻¹ M H⁻¹, with M made of what the
 * residuals are in truth (White, Econometrica 48 (1980) 817, from memory). They weigh little because neighbours err together and sections
 * are no perfect arcs.
 */
function covarianceOf(problem: Evaluator, parameters: Float64Array, inverse: Float64Array, loss: Loss): Float64Array {
  const n = problem.parameterCount;
  const rest = normalMatrix(n, loss, (sink) => problem.evaluateBesideLines(parameters, sink));
  const ofRest = sandwich(inverse, rest, n);
  const share = lineShare ** 2;
  return inverse.map((v, i) => share * v + (1 - share) * ofRest[i]);
}
