import type { ReportPiece } from './report.js';

/** Table position, millimetres. */
type Pair = readonly [number, number];

/** A line along the track is drawn through points at most this far apart, millimetres: lens bending stays below 0.1 px. */
const stepMm = 20;

/**
 * Points along a piece at a sideways offset.
 * @param offsetMm from the centre rail, left of the running direction positive
 */
export function alongPiece(piece: ReportPiece, offsetMm: number): Pair[] {
  return piece.kind === 'straight' ? alongStraight(piece.from, piece.to, offsetMm) : alongCurve(piece, offsetMm);
}

/** Points from one place to another, `offsetMm` to the left. */
export function alongStraight(from: Pair, to: Pair, offsetMm = 0): Pair[] {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const parts = Math.max(1, Math.ceil(length / stepMm));
  const nx = length === 0 ? 0 : -(to[1] - from[1]) / length;
  const ny = length === 0 ? 0 : (to[0] - from[0]) / length;
  return Array.from({ length: parts + 1 }, (_, i) => {
    const t = i / parts;
    return [from[0] + (to[0] - from[0]) * t + nx * offsetMm, from[1] + (to[1] - from[1]) * t + ny * offsetMm] as const;
  });
}

function alongCurve(piece: Extract<ReportPiece, { kind: 'curve' }>, offsetMm: number): Pair[] {
  const { from, centre, sweepRad } = piece;
  const radius = Math.hypot(from[0] - centre[0], from[1] - centre[1]);
  const start = Math.atan2(from[1] - centre[1], from[0] - centre[0]);
  // Left of a left-hand curve is towards its centre.
  const r = radius - Math.sign(sweepRad) * offsetMm;
  const parts = Math.max(1, Math.ceil((radius * Math.abs(sweepRad)) / stepMm));
  return Array.from({ length: parts + 1 }, (_, i) => {
    const angle = start + (sweepRad * i) / parts;
    return [centre[0] + r * Math.cos(angle), centre[1] + r * Math.sin(angle)] as const;
  });
}
