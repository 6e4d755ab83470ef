import type { Camera, Lens } from '../../geometry/camera.js';
import { emptyProjection, projectWithDerivatives } from '../../geometry/project-with-derivatives.js';
import { multiply3, orthonormalised, rotationFromVector } from '../../geometry/rotation.js';
import { type LeastSquaresProblem, type ResidualSink, solveLeastSquares } from '../../linalg/least-squares.js';
import { type Arc, type LineObservation, pointOnArc } from '../../scene/track-observation.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { outerHeadOffsetMm } from '../../scene/track-profile.js';
import { type SideTapeObservation, sideTapeResidual } from './side-length.js';
import { type SquareCorner, squareCornerResidual } from './square-corner.js';

/** A marker lying on the table: its middle, its turn and its printed side. */
export interface PlacedMarker {
  readonly id: number;
  readonly x: number;
  readonly y: number;
  readonly turnRad: number;
}

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

/** All that is unknown, as it stands now. */
export interface AdjustmentState {
  readonly lenses: readonly Lens[];
  /** Which lens each photo was taken with. */
  readonly lensOfPhoto: readonly number[];
  readonly cameras: readonly Camera[];
  readonly markers: readonly PlacedMarker[];
  readonly arcs: readonly Arc[];
  readonly straight: readonly boolean[];
  /** Common factor of the printed marker sides, and of the gauge; and what the rail top is off its nominal height. */
  readonly printScale: number;
  readonly gaugeScale: number;
  readonly railTopOffMm: number;
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
  /** Prior of the focal length of each lens, and its standard uncertainty, pixels. */
  readonly focalPrior: readonly { readonly valuePx: number; readonly uPx: number }[];
  /** Middle of the picture of each lens: where the principal point is expected. */
  readonly principalPointPx: readonly (readonly [number, number])[];
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

/** Where each unknown stands in the parameter vector. */
export interface ParameterLayout {
  readonly lens: readonly number[];
  readonly pose: readonly number[];
  readonly marker: readonly number[];
  readonly arc: readonly number[];
  readonly printScale: number;
  readonly gaugeScale: number;
  readonly railTop: number;
  readonly count: number;
}

/** Priors, one standard uncertainty each; phone main cameras, from memory of published calibrations. */
const priors = {
  k1: { value: -0.03, u: 0.03 },
  k2: { value: 0.01, u: 0.02 },
  principalPointPx: 12,
  tangential: 4e-4,
  printScale: 3e-4,
  gaugeScale: 5e-3,
};

function layoutOf(state: AdjustmentState): ParameterLayout {
  let at = 0;
  const take = (n: number): number => {
    const start = at;
    at += n;
    return start;
  };
  return {
    lens: state.lenses.map(() => take(7)),
    pose: state.cameras.map(() => take(6)),
    marker: state.markers.map(() => take(3)),
    arc: state.arcs.map(() => take(4)),
    printScale: take(1),
    gaugeScale: take(1),
    railTop: take(1),
    get count() {
      return at;
    },
  };
}

/** Parameter scales, so that one damping fits all: pixels, thousandths, millimetres, radians. */
function stateFrom(base: AdjustmentState, layout: ParameterLayout, p: Float64Array): AdjustmentState {
  const lenses = base.lenses.map((lens, i) => {
    const o = layout.lens[i];
    const f = lens.fx + p[o];
    return {
      fx: f,
      fy: f,
      cx: lens.cx + p[o + 3],
      cy: lens.cy + p[o + 4],
      k1: lens.k1 + p[o + 1],
      k2: lens.k2 + p[o + 2],
      p1: lens.p1 + p[o + 5],
      p2: lens.p2 + p[o + 6],
    };
  });
  const cameras = base.cameras.map((camera, i) => {
    const o = layout.pose[i];
    const { rotation, translation } = camera.cameraFromTable;
    return {
      lens: lenses[base.lensOfPhoto[i]],
      cameraFromTable: {
        rotation: orthonormalised(multiply3(rotationFromVector(p[o], p[o + 1], p[o + 2]), rotation)),
        translation: [translation[0] + p[o + 3], translation[1] + p[o + 4], translation[2] + p[o + 5]] as const,
      },
    };
  });
  return {
    ...base,
    lenses,
    cameras,
    markers: base.markers.map((m, i) => {
      const o = layout.marker[i];
      return { id: m.id, x: m.x + p[o], y: m.y + p[o + 1], turnRad: m.turnRad + p[o + 2] };
    }),
    arcs: base.arcs.map((a, i) => {
      const o = layout.arc[i];
      return {
        x: a.x + p[o],
        y: a.y + p[o + 1],
        headingRad: a.headingRad + p[o + 2],
        curvaturePerMm: a.curvaturePerMm + p[o + 3],
        halfLengthMm: a.halfLengthMm,
      };
    }),
    printScale: base.printScale + p[layout.printScale],
    gaugeScale: base.gaugeScale + p[layout.gaugeScale],
    railTopOffMm: base.railTopOffMm + p[layout.railTop],
  };
}

const cornerSigns = [
  [-1, 1],
  [1, 1],
  [1, -1],
  [-1, -1],
] as const;

/** Corner k of a marker, table frame: printed upper left first, seen from above. */
export function markerCornerInTable(marker: PlacedMarker, sideMm: number, k: number): [number, number] {
  const c = Math.cos(marker.turnRad);
  const s = Math.sin(marker.turnRad);
  const a = (cornerSigns[k][0] * sideMm) / 2;
  const b = (cornerSigns[k][1] * sideMm) / 2;
  return [marker.x + c * a - s * b, marker.y + s * a + c * b];
}

class Evaluator implements LeastSquaresProblem {
  readonly parameterCount: number;
  private readonly projection = emptyProjection();
  private readonly index = new Int32Array(32);
  private readonly derivative = new Float64Array(32);

  constructor(
    private readonly input: AdjustmentInput,
    private readonly layout: ParameterLayout,
  ) {
    this.parameterCount = layout.count;
  }

  evaluate(parameters: Float64Array, sink: ResidualSink): void {
    const state = stateFrom(this.input.state, this.layout, parameters);
    this.markerResiduals(state, sink);
    this.lineResiduals(state, sink);
    this.tapeResiduals(state, sink);
    for (const tape of this.input.sideTapes ?? []) sideTapeResidual(tape, state.arcs, this.layout.arc, sink);
    for (const corner of this.input.squareCorners ?? [])
      squareCornerResidual(corner, state.arcs, this.layout.arc, sink);
    this.priorResiduals(state, parameters, sink);
  }

  /** Puts the camera's part of the derivatives of n·p at the front of the buffers; returns how many. */
  private cameraPart(photo: number, nx: number, ny: number, scale: number): number {
    const { layout, index, derivative, projection: q } = this;
    const lensAt = layout.lens[this.input.state.lensOfPhoto[photo]];
    let n = 0;
    for (let k = 0; k < 7; k++) {
      index[n] = lensAt + k;
      derivative[n++] = scale * (nx * q.byLens[k] + ny * q.byLens[7 + k]);
    }
    for (let k = 0; k < 6; k++) {
      index[n] = layout.pose[photo] + k;
      derivative[n++] = scale * (nx * q.byPose[k] + ny * q.byPose[6 + k]);
    }
    return n;
  }

  private markerResiduals(state: AdjustmentState, sink: ResidualSink): void {
    const { layout, index, derivative, projection: q } = this;
    const side = this.input.markerSideMm * state.printScale;
    for (const seen of this.input.markerObservations) {
      const marker = state.markers[seen.marker];
      for (let k = 0; k < 4; k++) {
        const [x, y] = markerCornerInTable(marker, side, k);
        projectWithDerivatives(state.cameras[seen.photo], x, y, 0, q);
        for (let axis = 0; axis < 2; axis++) {
          const nx = axis === 0 ? 1 : 0;
          const ny = 1 - nx;
          const scale = 1 / seen.sigmaPx;
          let n = this.cameraPart(seen.photo, nx, ny, scale);
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

  private lineResiduals(state: AdjustmentState, sink: ResidualSink): void {
    const { layout, index, derivative, projection: q } = this;
    const offset = outerHeadOffsetMm(this.input.track);
    const railZ = this.input.track.railTopMm - this.input.track.headWidthMm / 2 + state.railTopOffMm;
    for (const seen of this.input.lineObservations) {
      const arc = state.arcs[seen.arc];
      const onRail = seen.kind === 'rail';
      const d = seen.rail * offset * state.gaugeScale;
      const at = pointOnArc(arc, seen.s, d);
      projectWithDerivatives(state.cameras[seen.photo], at.x, at.y, onRail ? railZ : 0, q);
      const scale = 1 / seen.sigmaPx;
      let n = this.cameraPart(seen.photo, seen.normalX, seen.normalY, scale);
      const gx = scale * (seen.normalX * q.byPoint[0] + seen.normalY * q.byPoint[3]);
      const gy = scale * (seen.normalX * q.byPoint[1] + seen.normalY * q.byPoint[4]);
      const gz = scale * (seen.normalX * q.byPoint[2] + seen.normalY * q.byPoint[5]);
      const o = layout.arc[seen.arc];
      index[n] = o;
      derivative[n++] = gx;
      index[n] = o + 1;
      derivative[n++] = gy;
      index[n] = o + 2;
      derivative[n++] = -gx * (at.y - arc.y) + gy * (at.x - arc.x);
      if (!state.straight[seen.arc]) {
        const h = 1e-7;
        const next = pointOnArc({ ...arc, curvaturePerMm: arc.curvaturePerMm + h }, seen.s, d);
        index[n] = o + 3;
        derivative[n++] = (gx * (next.x - at.x) + gy * (next.y - at.y)) / h;
      }
      if (onRail) {
        const lateral = seen.rail * offset;
        index[n] = layout.gaugeScale;
        derivative[n++] = lateral * (-gx * Math.sin(at.headingRad) + gy * Math.cos(at.headingRad));
        index[n] = layout.railTop;
        derivative[n++] = gz;
      }
      sink(scale * (seen.normalX * (q.u - seen.px) + seen.normalY * (q.v - seen.py)), index, derivative, n);
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
    const one = (index: number, residual: number, derivative: number): void => sink(residual, [index], [derivative], 1);
    state.lenses.forEach((lens, i) => {
      const o = this.layout.lens[i];
      const focal = this.input.focalPrior[i];
      one(o, (lens.fx - focal.valuePx) / focal.uPx, 1 / focal.uPx);
      one(o + 1, (lens.k1 - priors.k1.value) / priors.k1.u, 1 / priors.k1.u);
      one(o + 2, (lens.k2 - priors.k2.value) / priors.k2.u, 1 / priors.k2.u);
      const centre = this.input.state.lenses[i];
      one(
        o + 3,
        (centre.cx + p[o + 3] - this.input.principalPointPx[i][0]) / priors.principalPointPx,
        1 / priors.principalPointPx,
      );
      one(
        o + 4,
        (centre.cy + p[o + 4] - this.input.principalPointPx[i][1]) / priors.principalPointPx,
        1 / priors.principalPointPx,
      );
      one(o + 5, lens.p1 / priors.tangential, 1 / priors.tangential);
      one(o + 6, lens.p2 / priors.tangential, 1 / priors.tangential);
    });
    // The table frame is held by the first marker.
    const first = this.layout.marker[0];
    for (let k = 0; k < 3; k++) one(first + k, p[first + k] * 1e5, 1e5);
    state.arcs.forEach((_, i) => {
      if (state.straight[i]) one(this.layout.arc[i] + 3, p[this.layout.arc[i] + 3] * 1e8, 1e8);
      // Keeps an arc with too few points from drifting along itself; far weaker than any observation across it.
      const o = this.layout.arc[i];
      one(o, p[o] / 50, 1 / 50);
      one(o + 1, p[o + 1] / 50, 1 / 50);
      one(o + 2, p[o + 2] / 0.5, 1 / 0.5);
      if (!state.straight[i]) one(o + 3, p[o + 3] / 2e-3, 1 / 2e-3);
    });
    const u = this.input.track.railTopUMm;
    one(this.layout.printScale, (state.printScale - 1) / priors.printScale, 1 / priors.printScale);
    one(this.layout.gaugeScale, (state.gaugeScale - 1) / priors.gaugeScale, 1 / priors.gaugeScale);
    one(this.layout.railTop, state.railTopOffMm / u, 1 / u);
  }
}

/**
 * Solves for cameras, markers, arcs (pieces of track and table sides), print scale, gauge and rail height together
 * (bundle adjustment; Triggs et al., LNCS 1883 (2000) 298). Rails are observed at the height of the head's axis.
 */
export function adjust(input: AdjustmentInput): AdjustmentOutput {
  const layout = layoutOf(input.state);
  const problem = new Evaluator(input, layout);
  const solution = solveLeastSquares(problem, new Float64Array(layout.count), {
    loss: { kind: 'huber', width: input.robustWidth },
    maxIterations: input.maxIterations,
    costTolerance: 1e-8,
  });
  const state = stateFrom(input.state, layout, solution.parameters);
  const markerCount = input.markerObservations.length * 8;
  const lineResidualsPx = new Float64Array(input.lineObservations.length);
  const markerResidualsPx: number[] = [];
  let at = 0;
  problem.evaluate(solution.parameters, (r) => {
    if (at < markerCount) markerResidualsPx.push(r * input.markerObservations[at >> 3].sigmaPx);
    else if (at - markerCount < lineResidualsPx.length)
      lineResidualsPx[at - markerCount] = r * input.lineObservations[at - markerCount].sigmaPx;
    at++;
  });
  return {
    state,
    covariance: solution.covariance,
    layout,
    lineResidualsPx,
    markerResidualsPx,
    cost: solution.cost,
    converged: solution.ended !== 'singular',
  };
}
