import type { Camera, Lens } from '../../geometry/camera.js';
import { multiply3, orthonormalised, rotationFromVector } from '../../geometry/rotation.js';
import type { PlacedMarker } from '../../scene/placed-marker.js';
import type { Arc } from '../../scene/track-observation.js';

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

/** Puts all unknowns in one row, in the order lenses, poses, markers, arcs, common factors. */
export function layoutOf(state: AdjustmentState): ParameterLayout {
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

/** The state that parameters lead to: each is added to the base; poses turn by a rotation vector. */
export function stateFrom(base: AdjustmentState, layout: ParameterLayout, p: Float64Array): AdjustmentState {
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
