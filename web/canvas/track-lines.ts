import type { Report, ReportJoint, ReportPiece } from '../../server/contract/report.js';

/** Table position, millimetres. */
export type Pair = readonly [number, number];

/** Running direction at the start or the end of a piece, radians. */
export function headingAt(piece: ReportPiece, end: 'from' | 'to'): number {
  if (piece.kind === 'straight') return Math.atan2(piece.to[1] - piece.from[1], piece.to[0] - piece.from[0]);
  const [x, y] = end === 'from' ? piece.from : piece.to;
  const outward = Math.atan2(y - piece.centre[1], x - piece.centre[0]);
  return outward + (Math.sign(piece.sweepRad) * Math.PI) / 2;
}

/** Running direction at a joint, radians: the mean of its two pieces, or that of the nearest piece end. */
export function jointHeading(report: Report, joint: ReportJoint): number {
  const pieces = report.runs.find((run) => run.id === joint.run)?.pieces ?? [];
  const [before, after] = joint.pieces ?? [-1, -1];
  if (pieces[before] && pieces[after]) {
    const a = headingAt(pieces[before], 'to');
    const b = headingAt(pieces[after], 'from');
    return Math.atan2(Math.sin(a) + Math.sin(b), Math.cos(a) + Math.cos(b));
  }
  let best = { distance: Number.POSITIVE_INFINITY, heading: 0 };
  for (const piece of pieces) {
    for (const end of ['from', 'to'] as const) {
      const distance = Math.hypot(piece[end][0] - joint.at[0], piece[end][1] - joint.at[1]);
      if (distance < best.distance) best = { distance, heading: headingAt(piece, end) };
    }
  }
  return best.heading;
}

/** Offsets of the three rail heads from the centre line, left first, millimetres. */
export function railOffsets(track: Report['track']): [number, number, number] {
  const outer = track.gaugeMm / 2 + track.headWidthMm / 2;
  return [outer, 0, -outer];
}

/**
 * The end faces of a joint: for each side of the gap the line across all three rails.
 * @returns [before, after], each from left to right, table millimetres
 */
export function endFaces(report: Report, joint: ReportJoint): [Pair[], Pair[]] {
  const heading = jointHeading(report, joint);
  const along: Pair = [Math.cos(heading), Math.sin(heading)];
  const left: Pair = [-along[1], along[0]];
  const [outer] = railOffsets(report.track);
  const reach = outer + report.track.headWidthMm * 2;
  const gapAt = [joint.rails?.left, joint.rails?.left, joint.rails?.centre, joint.rails?.right, joint.rails?.right];
  const face = (side: -1 | 1): Pair[] =>
    [reach, outer, 0, -outer, -reach].map((offset, i) => {
      const half = (side * (gapAt[i]?.value ?? joint.gap.value)) / 2;
      return [
        joint.at[0] + along[0] * half + left[0] * offset,
        joint.at[1] + along[1] * half + left[1] * offset,
      ] as const;
    });
  return [face(-1), face(1)];
}

/** Foot of the perpendicular from a point to a table side's line. */
export function footOnSide(side: { readonly from: Pair; readonly to: Pair }, point: Pair): Pair {
  const dx = side.to[0] - side.from[0];
  const dy = side.to[1] - side.from[1];
  const t = ((point[0] - side.from[0]) * dx + (point[1] - side.from[1]) * dy) / (dx * dx + dy * dy);
  return [side.from[0] + dx * t, side.from[1] + dy * t];
}
