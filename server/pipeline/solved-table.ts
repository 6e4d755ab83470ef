import { sigmaOfMiddle } from '../linalg/middle.js';
import type { MeasuredLayout } from '../scene/measured-layout.js';
import type { RailTrace } from '../scene/rail-trace.js';
import type { SeenQuality, SharedLayout, SolvedTable } from '../scene/solved-table.js';
import { lineShare } from '../stages/camera/adjustment.js';
import type { StartCamera } from '../stages/camera/start-camera.js';
import { railSigmaMm } from '../stages/camera/track-arcs.js';
import { alongSide, edgeSigmaPx, type SideArc, type TableAdjustment } from './adjust-table.js';

/** What the last adjustment was made from. */
export interface SolvedFrom {
  readonly adjusted: TableAdjustment;
  readonly start: StartCamera;
  readonly sides: readonly SideArc[];
  readonly traces: readonly RailTrace[];
  readonly primary: number;
  readonly markerSideMm: number;
}

/**
 * Takes out of an adjustment what photos have in common: lenses, poses, markers, sides, scales. The track's own arcs are
 * left out of the covariance, which is the same as letting them be anything (their part is taken up in the rest).
 * @returns null where the adjustment has no covariance
 */
export function solvedTableOf(from: SolvedFrom, layout: MeasuredLayout): SolvedTable | null {
  const { primary } = from;
  const { output } = from.adjusted;
  const { state } = output;
  if (!output.covariance) return null;
  const kept: number[] = [];
  const take = (at: number, count: number): number => {
    const here = kept.length;
    for (let k = 0; k < count; k++) kept.push(at + k);
    return here;
  };
  const shared: SharedLayout = {
    lens: output.layout.lens.map((at) => take(at, 7)),
    pose: output.layout.pose.map((at) => take(at, 6)),
    side: layout.sides.map((side) => take(output.layout.arc[side.arcIndex], 3)),
    printScale: take(output.layout.printScale, 1),
    gaugeScale: take(output.layout.gaugeScale, 1),
    railTop: take(output.layout.railTop, 1),
    marker: output.layout.marker.map((at) => take(at, 3)),
    count: kept.length,
  };
  const n = kept.length;
  const covariance = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) covariance[i * n + j] = output.covariance[kept[i] * output.layout.count + kept[j]];
  return {
    cameras: state.cameras,
    lensOfPhoto: state.lensOfPhoto,
    photoNames: layout.photoNames,
    photoSizesPx: layout.photoSizesPx,
    primary,
    markers: state.markers,
    markerSideMm: from.markerSideMm * state.printScale,
    sides: layout.sides,
    runs: layout.runs,
    track: layout.track,
    railTopOffMm: layout.railTopOffMm,
    quality: qualityOf(from, layout.cameras.length),
    layout: { ...shared, count: n },
    covariance,
  };
}

function qualityOf({ adjusted, start, sides, traces }: SolvedFrom, photoCount: number): SeenQuality {
  const { state } = adjusted.output;
  const points = sides.flatMap((s) => s.seen.flatMap(({ side }) => side.points.map((p) => edgeSigmaPx(p.sigmaPx))));
  const steps = sides.flatMap(({ arc, seen }) =>
    seen.flatMap(({ photo, side }) => {
      const places = side.points.map((p) => alongSide(arc, state, photo, p.px, p.py)).sort((a, b) => a - b);
      return places.slice(1).map((s, i) => s - places[i]);
    }),
  );
  return {
    cornerSigmaPx: median(start.markerObservations.map((o) => o.sigmaPx)) ?? 0.1,
    edgeSigmaPx: lineShare * (median(points) ?? 1),
    edgeStepMm: Math.max(2, median(steps) ?? 10),
    railSigmaMm: lineShare * railSigmaMm,
    railStepMm: traces[0]?.stepMm ?? 10,
    readingPx: readingPx(adjusted, photoCount),
  };
}

/** Scatter of the rails about the solved track in each photo, from the median so that a lamp's glare does not count. */
function readingPx({ output, lineObservations }: TableAdjustment, photoCount: number): number[] {
  const all: number[][] = Array.from({ length: photoCount }, () => []);
  lineObservations.forEach(({ kind, photo }, i) => {
    if (kind === 'rail') all[photo].push(Math.abs(output.lineResidualsPx[i]));
  });
  return all.map((list) => sigmaOfMiddle * (median(list) ?? 0.5));
}

function median(list: readonly number[]): number | undefined {
  return [...list].sort((a, b) => a - b)[list.length >> 1];
}
