import type { Camera } from '../../geometry/camera.js';
import { projectLevelStep, projectWithDerivatives } from '../../geometry/project-with-derivatives.js';
import type { ResidualSink } from '../../linalg/least-squares.js';
import { type Arc, type LineObservation, putOnArc } from '../../scene/track-observation.js';
import { outerHeadOffsetMm, type TrackProfile } from '../../scene/track-profile.js';
import type { AdjustmentState, ParameterLayout } from './adjustment-state.js';
import type { DerivativeRow } from './derivative-row.js';

/** What `putOnArc` and `projectLevelStep` fill. */
const place = new Float64Array(6);
const step = new Float64Array(4);

/**
 * Sinks, for each place seen on a rail or an edge, how far its arc is from it in the photo, along the place's normal.
 * @param row filled again for each residual
 */
export function lineResiduals(
  { track, lineObservations }: { readonly track: TrackProfile; readonly lineObservations: readonly LineObservation[] },
  state: AdjustmentState,
  layout: ParameterLayout,
  row: DerivativeRow,
  sink: ResidualSink,
  derivatives: boolean,
): void {
  const { index, derivative, projection: q } = row;
  const offset = outerHeadOffsetMm(track);
  const railZ = track.railTopMm - track.headWidthMm / 2 + state.railTopOffMm;
  const cos = state.arcs.map((a) => Math.cos(a.headingRad));
  const sin = state.arcs.map((a) => Math.sin(a.headingRad));
  for (const seen of lineObservations) {
    const arc = state.arcs[seen.arc];
    const straight = state.straight[seen.arc];
    const onRail = seen.kind === 'rail';
    const z = onRail ? railZ : 0;
    const d = seen.rail * offset * state.gaugeScale;
    const camera = state.cameras[seen.photo];
    const scale = 1 / seen.sigmaPx;
    face(camera, arc, cos[seen.arc], sin[seen.arc], straight, seen, d, z);
    if (!derivatives) {
      projectLevelStep(camera, place[0], place[1], z, place[2], place[3], step);
      sink(scale * (seen.normalX * (step[0] - seen.px) + seen.normalY * (step[1] - seen.py)), index, derivative, 0);
      continue;
    }
    projectWithDerivatives(camera, place[0], place[1], z, q);
    const { byPoint } = q;
    let nx = scale * seen.normalX;
    let ny = scale * seen.normalY;
    const residual = nx * (q.u - seen.px) + ny * (q.v - seen.py);
    if (!straight) {
      // The place that faces the observation goes along when something moves the arc along itself.
      const du = byPoint[0] * place[2] + byPoint[1] * place[3];
      const dv = byPoint[3] * place[2] + byPoint[4] * place[3];
      const along = (nx * du + ny * dv) / (du * du + dv * dv);
      nx -= along * du;
      ny -= along * dv;
    }
    let n = row.camera(seen.photo, nx, ny);
    const gx = nx * byPoint[0] + ny * byPoint[3];
    const gy = nx * byPoint[1] + ny * byPoint[4];
    const o = layout.arc[seen.arc];
    index[n] = o;
    derivative[n++] = gx;
    index[n] = o + 1;
    derivative[n++] = gy;
    index[n] = o + 2;
    derivative[n++] = -gx * (place[1] - arc.y) + gy * (place[0] - arc.x);
    if (!straight) {
      index[n] = o + 3;
      derivative[n++] = gx * place[4] + gy * place[5];
    }
    if (onRail) {
      index[n] = layout.gaugeScale;
      derivative[n++] = seen.rail * offset * (gy * place[2] - gx * place[3]);
      index[n] = layout.railTop;
      derivative[n++] = nx * byPoint[2] + ny * byPoint[5];
    }
    sink(residual, index, derivative, n);
  }
}

/**
 * Finds the place on an arc that an observation is of. An arc may slide along itself while all is solved for; on a curve
 * the place that was nearest before then bends away from the observation's normal, and another is nearest.
 */
function face(
  camera: Camera,
  arc: Arc,
  cos: number,
  sin: number,
  straight: boolean,
  seen: LineObservation,
  d: number,
  z: number,
): void {
  putOnArc(arc, cos, sin, seen.s, d, place);
  if (straight) return;
  projectLevelStep(camera, place[0], place[1], z, place[2], place[3], step);
  const du = step[2];
  const dv = step[3];
  const along = ((seen.px - step[0]) * du + (seen.py - step[1]) * dv) / (du * du + dv * dv);
  // Along a rail beside the centre line; s counts along the centre line.
  putOnArc(arc, cos, sin, seen.s + along / (1 - arc.curvaturePerMm * d), d, place);
}
