import { tableFromPhotoAtHeight } from '../geometry/camera.js';
import type { RailTrace } from '../scene/rail-trace.js';
import type { TableEdge, TableSide } from '../scene/table-edge.js';
import type { Arc, LineObservation } from '../scene/track-observation.js';
import type { TrackProfile } from '../scene/track-profile.js';
import {
  type AdjustmentInput,
  type AdjustmentOutput,
  adjust,
  type TapeObservation,
} from '../stages/camera/adjustment.js';
import type { AdjustmentState } from '../stages/camera/adjustment-state.js';
import { curveFamilies } from '../stages/camera/same-radius.js';
import type { SideTapeObservation } from '../stages/camera/side-length.js';
import type { SquareCorner } from '../stages/camera/square-corner.js';
import type { StartCamera } from '../stages/camera/start-camera.js';
import { type ArcSpan, arcsFromSpans } from '../stages/camera/track-arcs.js';

/** Points of an edge have errors in common (grain, shade, the side of the table top), so they count less than one each. */
const edgeCommonFactor = 4;

/** Sigma with which a point of a table edge enters the adjustment, pixels. */
export function edgeSigmaPx(ownSigmaPx: number): number {
  return edgeCommonFactor * Math.max(0.1, ownSigmaPx);
}

/** Sides of the table as arcs of the adjustment: one for each physical side, seen in one photo or several. */
export interface SideArc {
  readonly arc: Arc;
  readonly seen: readonly { readonly photo: number; readonly side: TableSide }[];
  /** Its place round the table where a person gave the outline; missing where sides are put in order by their headings. */
  readonly place?: number;
}

export interface TableAdjustment {
  readonly output: AdjustmentOutput;
  /** Index of the first side's arc; the track's arcs come before. */
  readonly firstSide: number;
  /** What was seen of track and sides, in the order of the output's residuals. */
  readonly lineObservations: readonly LineObservation[];
}

/** Adjusts everything seen so far: markers, track pieces, table sides. Tapes and corners count sides from the first. */
export function adjustTable(
  start: StartCamera,
  state: AdjustmentState,
  traces: readonly RailTrace[],
  spans: readonly ArcSpan[],
  sides: readonly SideArc[],
  tapes: readonly TapeObservation[],
  markerSideMm: number,
  track: TrackProfile,
  sideTapes: readonly SideTapeObservation[] = [],
  squareCorners: readonly SquareCorner[] = [],
): TableAdjustment {
  const onTrack = arcsFromSpans(traces, spans, state.cameras, track, 0);
  const firstSide = onTrack.arcs.length;
  const onSides = sides.flatMap((side, i) => edgeObservations(side, firstSide + i, state));
  const lineObservations = [...onTrack.observations, ...onSides];
  const input: AdjustmentInput = {
    state: {
      ...state,
      arcs: [...onTrack.arcs, ...sides.map((s) => s.arc)],
      straight: [...onTrack.straight, ...sides.map(() => true)],
    },
    markerSideMm,
    track,
    markerObservations: start.markerObservations,
    lineObservations,
    tapes,
    sideTapes: sideTapes.map((t) => ({
      ...t,
      side: t.side + firstSide,
      before: t.before + firstSide,
      after: t.after + firstSide,
    })),
    squareCorners: squareCorners.map((c) => ({
      ...c,
      before: c.before + firstSide,
      after: c.after + firstSide,
    })),
    focalPrior: start.focalPrior,
    principalPoints: start.principalPoints,
    robustWidth: 2,
    maxIterations: 40,
  };
  const alone = adjust(input);
  const families = curveFamilies(alone.state.arcs, input.state.straight, input.lineObservations);
  const output = families.length > 0 ? adjust({ ...input, state: alone.state, curveFamilies: families }) : alone;
  return { output, firstSide, lineObservations };
}

/** Finds which sides of several photos are one, and makes an arc of each. */
export function gatherSides(edges: readonly { readonly photo: number; readonly edge: TableEdge }[]): SideArc[] {
  const out: { arc: Arc; seen: { photo: number; side: TableSide }[]; weight: number }[] = [];
  for (const { photo, edge } of edges)
    for (const side of edge.sides) {
      const { through, direction } = side.lineInTable;
      const headingRad = Math.atan2(direction[1], direction[0]);
      const same = out.find((o) => {
        const turn = Math.abs(
          Math.atan2(Math.sin(headingRad - o.arc.headingRad), Math.cos(headingRad - o.arc.headingRad)),
        );
        const off =
          -(through.x - o.arc.x) * Math.sin(o.arc.headingRad) + (through.y - o.arc.y) * Math.cos(o.arc.headingRad);
        return turn < 0.05 && Math.abs(off) < 60;
      });
      const weight = side.points.length * side.certainty;
      if (same) {
        same.seen.push({ photo, side });
        continue;
      }
      out.push({
        arc: { x: through.x, y: through.y, headingRad, curvaturePerMm: 0, halfLengthMm: 0 },
        seen: [{ photo, side }],
        weight,
      });
    }
  return out;
}

function edgeObservations(side: SideArc, arc: number, state: AdjustmentState): LineObservation[] {
  return side.seen.flatMap(({ photo, side: seen }) =>
    seen.points.map((p) => ({
      photo,
      arc,
      s: alongSide(side.arc, state, photo, p.px, p.py),
      rail: 0 as const,
      kind: 'edge' as const,
      px: p.px,
      py: p.py,
      normalX: p.normal[0],
      normalY: p.normal[1],
      sigmaPx: edgeSigmaPx(p.sigmaPx),
    })),
  );
}

/** Place along a side of the point that a photo shows at (px, py), at z = 0. */
export function alongSide(arc: Arc, state: AdjustmentState, photo: number, px: number, py: number): number {
  const p = tableFromPhotoAtHeight(state.cameras[photo], px, py, 0);
  return (p.x - arc.x) * Math.cos(arc.headingRad) + (p.y - arc.y) * Math.sin(arc.headingRad);
}
