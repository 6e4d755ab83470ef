import { gapByPhoto } from '../contract/gap-readings.js';
import type { ReportJoint, ReportPiece, ReportRun } from '../contract/report.js';
import type { Estimate } from '../units/estimate.js';
import {
  add,
  cross,
  direction,
  distance,
  dot,
  leftOf,
  lengthOf,
  scale,
  subtract,
  turn,
  type Vec,
} from './plane-vectors.js';

export type CurvePiece = Extract<ReportPiece, { kind: 'curve' }>;
export type StraightPiece = Extract<ReportPiece, { kind: 'straight' }>;

export interface Gap {
  readonly open: boolean;
  readonly length: Estimate;
  readonly joint: string | null;
  /** Inside the row, not between its last piece and a curve. */
  readonly inside: boolean;
}

/** An open joint whose two ends point so differently, or lie so far beside each other, that no straight piece fits. */
export interface BentGap {
  readonly joint: string;
  readonly kinkRad: number;
  readonly besideMm: number;
  readonly lengthMm: number;
  readonly at: Vec;
}

/** What joins a piece to the next one. */
export interface Link {
  readonly gap: Gap;
  readonly hidden: boolean;
  readonly bent: BentGap | null;
}

/** A larger distance between two pieces without a joint is hidden track, not a gap to fill: practice, no source. */
const hiddenTrackMm = 5;

/** Loose joints take up a few degrees in all and a few millimetres beside each other; more is a bend: practice. */
const bentRad = (8 * Math.PI) / 180;
const besideMm = 10;

/** links[i] joins piece i to the next one; the last link of an open run does not exist. */
export function linksOf(run: ReportRun, joints: readonly ReportJoint[]): (Link | null)[] {
  const count = run.pieces.length;
  const found = new Map<number, ReportJoint>();
  for (const joint of joints) {
    if (joint.run !== run.id) continue;
    const link = joint.pieces ? linkNamed(run, joint.pieces) : linkNearest(run, joint);
    if (link === null) continue;
    const other = found.get(link);
    if (!other || (joint.open && !other.open)) found.set(link, joint);
  }
  return run.pieces.map((piece, i) => {
    if (i === count - 1 && !run.closed) return null;
    const next = run.pieces[(i + 1) % count];
    const joint = found.get(i);
    const apartMm = distance(piece.to, next.from);
    const inside = piece.kind === 'straight' && next.kind === 'straight';
    const bent = joint?.open && count > 1 ? bentGap(piece, next, joint) : null;
    if (joint && bent === null) {
      return { hidden: false, bent, gap: { open: joint.open, length: gapByPhoto(joint), joint: joint.id, inside } };
    }
    const hidden = bent !== null || apartMm > hiddenTrackMm;
    return { hidden, bent, gap: { open: false, length: { value: hidden ? 0 : apartMm, u: 0 }, joint: null, inside } };
  });
}

function bentGap(piece: ReportPiece, next: ReportPiece, joint: ReportJoint): BentGap | null {
  const [out, into] = [endTangent(piece), startTangent(next)];
  const kinkRad = Math.atan2(cross(out, into), dot(out, into));
  const mean = add(out, into);
  const offset = subtract(next.from, piece.to);
  const sidewaysMm = lengthOf(mean) > 0 ? cross(mean, offset) / lengthOf(mean) : lengthOf(offset);
  if (Math.abs(kinkRad) < bentRad && Math.abs(sidewaysMm) < besideMm) return null;
  const at: Vec = [(piece.to[0] + next.from[0]) / 2, (piece.to[1] + next.from[1]) / 2];
  return { joint: joint.id, kinkRad, besideMm: Math.abs(sidewaysMm), lengthMm: joint.gap.value, at };
}

function linkNamed(run: ReportRun, [before, after]: readonly [number, number]): number | null {
  const count = run.pieces.length;
  if (before < 0 || after < 0 || before >= count || after >= count) return null;
  if ((before + 1) % count === after && (run.closed || after !== 0)) return before;
  if ((after + 1) % count === before && (run.closed || before !== 0)) return after;
  return null;
}

function linkNearest(run: ReportRun, joint: ReportJoint): number | null {
  const count = run.pieces.length;
  let best: number | null = null;
  let bestMm = 30 + joint.gap.value / 2;
  for (let i = 0; i < (run.closed ? count : count - 1); i++) {
    const a = run.pieces[i].to;
    const b = run.pieces[(i + 1) % count].from;
    const offMm = distance(joint.at, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
    if (offMm < bestMm) {
      bestMm = offMm;
      best = i;
    }
  }
  return best;
}

export function linkBefore(run: ReportRun, links: readonly (Link | null)[], index: number): Link | null {
  return links[(index + links.length - 1) % links.length] ?? (run.closed ? links[links.length - 1] : null);
}

/**
 * For each piece: are both its ends known to be ends of sections? An end is, where the report has a joint there, and at
 * the free ends of an open run. A report that tells of no closed joint at all says nothing about that, so all are.
 */
export function sureEnds(run: ReportRun, links: readonly (Link | null)[]): boolean[] {
  const told = links.some((link) => link?.gap.joint && !link.gap.open);
  const last = run.pieces.length - 1;
  return run.pieces.map((_, i) => {
    if (!told) return true;
    const before = i === 0 && !run.closed ? null : linkBefore(run, links, i);
    const starts = i === 0 && !run.closed ? true : before?.gap.joint !== null && before !== null;
    const ends = i === last && !run.closed ? true : links[i] !== null && links[i]?.gap.joint !== null;
    return starts && ends;
  });
}

/** The way the track runs at the beginning of a piece. */
export function startTangent(piece: ReportPiece): Vec {
  if (piece.kind === 'straight') return straightTangent(piece);
  const radial = subtract(piece.from, piece.centre);
  return scale(leftOf(radial), Math.sign(piece.sweepRad) / lengthOf(radial));
}

export function endTangent(piece: ReportPiece): Vec {
  return piece.kind === 'straight' ? straightTangent(piece) : turn(startTangent(piece), piece.sweepRad);
}

function straightTangent(piece: StraightPiece): Vec {
  const chord = subtract(piece.to, piece.from);
  const length = lengthOf(chord);
  return length > 20 ? scale(chord, 1 / length) : direction(piece.headingRad);
}
