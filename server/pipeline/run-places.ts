import type { MeasuredPiece, MeasuredRun } from '../scene/measured-layout.js';
import type { RailJoint } from '../scene/rail-joint.js';
import { type Arc, alongArc, pointOnArc } from '../scene/track-observation.js';

/** The nearest place of a run to some point of the table. */
export interface RunPlace {
  /** Index of the piece, and the place along its arc. */
  readonly piece: number;
  readonly s: number;
  readonly headingRad: number;
  readonly distanceMm: number;
}

/** Nearest place on the pieces of a run that `counts` lets through; null when there is none. */
export function nearestOnRun(
  run: Pick<MeasuredRun, 'pieces'>,
  at: { readonly x: number; readonly y: number },
  counts: (piece: MeasuredPiece) => boolean = () => true,
): RunPlace | null {
  let best: RunPlace | null = null;
  run.pieces.forEach((p, piece) => {
    if (!counts(p)) return;
    const s = Math.max(p.fromS, Math.min(p.toS, alongArc(p.arc, at.x, at.y)));
    const q = pointOnArc(p.arc, s);
    const distanceMm = Math.hypot(q.x - at.x, q.y - at.y);
    if (!best || distanceMm < best.distanceMm) best = { piece, s, headingRad: q.headingRad, distanceMm };
  });
  return best;
}

/** A place on a piece. */
export interface PiecePlace {
  readonly x: number;
  readonly y: number;
  readonly headingRad: number;
  readonly piece: MeasuredPiece;
  readonly s: number;
  /** Length that it stands for. */
  readonly stepMm: number;
}

/** Places along the seen pieces of a run, about stepMm apart. */
export function placesOfRun(run: MeasuredRun, stepMm: number): PiecePlace[] {
  return run.pieces
    .filter((p) => p.seen)
    .flatMap((piece) => {
      const count = Math.max(1, Math.round((piece.toS - piece.fromS) / stepMm));
      const step = (piece.toS - piece.fromS) / count;
      return Array.from({ length: count }, (_, i) => {
        const s = piece.fromS + (i + 0.5) * step;
        return { ...pointOnArc(piece.arc, s), piece, s, stepMm: step };
      });
    });
}

/** The same run the other way round: left and right change places. */
export function reversedRun(run: MeasuredRun): MeasuredRun {
  const turned = (arc: Arc): Arc => ({
    ...arc,
    headingRad: arc.headingRad + Math.PI,
    curvaturePerMm: -arc.curvaturePerMm,
  });
  return {
    ...run,
    pieces: run.pieces.map((p) => ({ ...p, arc: turned(p.arc), fromS: -p.toS, toS: -p.fromS })).reverse(),
    joints: run.joints
      .map((j) => ({
        ...j,
        s: -j.s,
        railsMm: otherWay(j.railsMm),
        readings: j.readings?.map((r) => ({ ...r, railsMm: otherWay(r.railsMm) })),
      }))
      .reverse(),
    jointPlaces: [...run.jointPlaces].reverse(),
    hidden: run.hidden.map((h) => ({ fromS: -h.toS, toS: -h.fromS })).reverse(),
  };
}

function otherWay([right, centre, left]: RailJoint['railsMm']): RailJoint['railsMm'] {
  return [left, centre, right];
}
