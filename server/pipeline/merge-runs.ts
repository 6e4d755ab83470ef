import type { MeasuredPiece, MeasuredRun } from '../scene/measured-layout.js';
import { alongArc, pointOnArc } from '../scene/track-observation.js';
import { addJointsBetween, averageJoints, withoutOverlaps, withoutVagueSlits } from './merge-joints.js';
import { nearestOnRun, placesOfRun, reversedRun } from './run-places.js';

/** Runs of two photos this near to each other are one: tracks side by side are 57 mm apart at least. */
const sameRunMm = 25;
const parallelRad = 0.2;
/** Two photos that show less than this of a run together are not compared. */
const leastSharedMm = 100;
/** The same track in two photos: a bright crest that wanders may part it by this much, millimetres. */
const agreeMm = 3;
/** Runs farther apart than so many times their uncertainty were moved. */
const movedU = 3;
/** What is added to a run at an end, or left of a covered part, is at least this long. */
const shortestMm = 8;
const leastAddedMm = 30;

export interface MergedRuns {
  readonly runs: MeasuredRun[];
  /** Photos that show the same run in different places, and how far apart. */
  readonly moved: readonly { readonly photos: readonly [number, number]; readonly apartMm: number }[];
}

/**
 * Makes one measurement of the runs of several photos, all in the common table frame: joints that several photos show are
 * averaged, covered parts of the primary's runs are filled where another photo sees the rails, runs go on where another
 * photo shows more of them, and runs that lie outside the primary's picture are added.
 * @param runs of all photos
 * @param primary the photo whose runs count first
 * Runs that do not agree are left apart; beyond their uncertainty, the photos are named.
 * @param primarySees whether a place lies within the primary's picture
 * @param acrossUMm standard uncertainty of a piece's place across the track, at s along its arc
 */
export function mergeRuns(
  runs: readonly MeasuredRun[],
  primary: number,
  primarySees: (x: number, y: number) => boolean,
  acrossUMm: (piece: MeasuredPiece, s: number) => number = () => 0,
): MergedRuns {
  const clear = runs.map(withoutOverlaps);
  let merged = clear.filter((r) => r.photo === primary);
  const moved: { photos: [number, number]; apartMm: number }[] = [];
  const others = clear.filter((r) => r.photo !== primary).sort((a, b) => seenMm(b) - seenMm(a));
  for (const other of others) {
    const shares = merged.map((run) => sharedOf(run, other, acrossUMm));
    const best = shares.reduce((a, s, i) => (s.lengthMm > shares[a].lengthMm ? i : a), 0);
    const share = shares[best];
    if (!share || share.lengthMm < leastSharedMm) {
      const places = placesOfRun(other, 20);
      const unseen = places.filter((p) => !primarySees(p.x, p.y)).length;
      const elsewhere = shares.every((s) => s.lengthMm < 1);
      if (elsewhere && unseen > places.length / 2) merged = [...merged, other];
      continue;
    }
    if (share.apartMm > agreeMm) {
      const photos: [number, number] = [merged[best].photo, other.photo];
      if (share.apartMm < movedU * share.uMm) continue;
      const known = moved.find((m) => m.photos[0] === photos[0] && m.photos[1] === photos[1]);
      if (!known) moved.push({ photos, apartMm: share.apartMm });
      continue;
    }
    const along = share.opposite ? reversedRun(other) : other;
    merged = merged.map((run, i) => (i === best ? mergedRun(run, along) : run));
  }
  return { runs: merged.map((run, i) => ({ ...withoutVagueSlits(run), id: `R${i + 1}` })), moved };
}

function mergedRun(run: MeasuredRun, other: MeasuredRun): MeasuredRun {
  const filled = fillCovered(run, other);
  const longer = filled.closed ? filled : goOnAtEnds(filled, other);
  return addJointsBetween(averageJoints(longer, other), other);
}

function seenMm(run: MeasuredRun): number {
  return run.pieces.reduce((sum, p) => sum + (p.seen ? p.toS - p.fromS : 0), 0);
}

interface Share {
  readonly lengthMm: number;
  /** Median distance between the two, millimetres. */
  readonly apartMm: number;
  /** Median standard uncertainty of that. */
  readonly uMm: number;
  readonly opposite: boolean;
}

/** How much of a run another photo shows too, and how far apart they put it. */
function sharedOf(run: MeasuredRun, other: MeasuredRun, acrossUMm: (piece: MeasuredPiece, s: number) => number): Share {
  const apart: number[] = [];
  const u: number[] = [];
  let lengthMm = 0;
  let opposite = 0;
  for (const p of placesOfRun(other, 20)) {
    const near = nearestOnRun(run, p, (piece) => piece.seen);
    if (!near || near.distanceMm > sameRunMm) continue;
    const turn = Math.cos(near.headingRad - p.headingRad);
    if (Math.abs(turn) < Math.cos(parallelRad)) continue;
    // Beyond the end of a piece the distance is along the track, which says nothing.
    const q = run.pieces[near.piece];
    if (near.s <= q.fromS || near.s >= q.toS) continue;
    apart.push(near.distanceMm);
    u.push(Math.hypot(acrossUMm(q, near.s), acrossUMm(p.piece, p.s)));
    lengthMm += p.stepMm;
    if (turn < 0) opposite += p.stepMm;
  }
  const middle = (list: number[]): number => list.sort((a, b) => a - b)[list.length >> 1] ?? 0;
  return { lengthMm, apartMm: middle(apart), uMm: middle(u), opposite: opposite > lengthMm / 2 };
}

/** Puts what another photo sees in the place of covered pieces. */
function fillCovered(run: MeasuredRun, other: MeasuredRun): MeasuredRun {
  const pieces = run.pieces.flatMap((covered) => {
    if (covered.seen || covered.toS - covered.fromS < shortestMm) return [covered];
    const parts = other.pieces
      .filter((p) => p.seen)
      .flatMap((p) => partWithin(p, covered))
      .sort((a, b) => a.fromMm - b.fromMm);
    if (parts.length === 0) return [covered];
    const out: MeasuredPiece[] = [];
    let at = covered.fromS;
    const gapAt = (from: number, to: number): boolean =>
      other.joints.some((j, i) => {
        const { x, y } = other.jointPlaces[i];
        const s = alongArc(covered.arc, x, y);
        return j.open && s > from && s < to && to - from < j.gapMm.value + shortestMm;
      });
    for (const part of parts) {
      if (part.fromMm < at - shortestMm) continue;
      if (part.fromMm - at >= shortestMm && !gapAt(at, part.fromMm))
        out.push({ ...covered, fromS: at, toS: part.fromMm });
      out.push(part.piece);
      at = part.toMm;
    }
    if (covered.toS - at >= shortestMm && !gapAt(at, covered.toS)) out.push({ ...covered, fromS: at });
    return out;
  });
  return { ...run, pieces };
}

/** The part of a piece that lies where another piece is covered, with its ends along the covered one. */
function partWithin(
  piece: MeasuredPiece,
  covered: MeasuredPiece,
): { piece: MeasuredPiece; fromMm: number; toMm: number }[] {
  const along = (s: number): number => {
    const q = pointOnArc(piece.arc, s);
    return alongArc(covered.arc, q.x, q.y);
  };
  const middle = pointOnArc(covered.arc, (covered.fromS + covered.toS) / 2);
  const near = pointOnArc(
    piece.arc,
    Math.max(piece.fromS, Math.min(piece.toS, alongArc(piece.arc, middle.x, middle.y))),
  );
  const reach = (covered.toS - covered.fromS) / 2 + sameRunMm;
  if (Math.hypot(near.x - middle.x, near.y - middle.y) > reach) return [];
  const [from, to] = [along(piece.fromS), along(piece.toS)];
  const a = Math.max(from, covered.fromS);
  const b = Math.min(to, covered.toS);
  if (b - a < shortestMm) return [];
  const within = (mm: number): number => piece.fromS + ((mm - from) / (to - from)) * (piece.toS - piece.fromS);
  const part = { ...piece, fromS: Math.max(piece.fromS, within(a)), toS: Math.min(piece.toS, within(b)) };
  const p = pointOnArc(part.arc, (part.fromS + part.toS) / 2);
  const onCovered = pointOnArc(covered.arc, alongArc(covered.arc, p.x, p.y));
  if (Math.hypot(p.x - onCovered.x, p.y - onCovered.y) > sameRunMm) return [];
  return [{ piece: part, fromMm: a, toMm: b }];
}

/** Lets an open run go on at both ends as far as another photo shows it. */
function goOnAtEnds(run: MeasuredRun, other: MeasuredRun): MeasuredRun {
  const after = piecesBeyond(run, other);
  const turned = reversedRun({ ...run, pieces: [...run.pieces, ...after] });
  const before = piecesBeyond(turned, reversedRun(other));
  if (after.length + before.length === 0) return run;
  const all = reversedRun({ ...turned, pieces: [...turned.pieces, ...before] });
  return { ...all, closed: endsMeet(all.pieces) };
}

function piecesBeyond(run: MeasuredRun, other: MeasuredRun): MeasuredPiece[] {
  const last = run.pieces[run.pieces.length - 1];
  if (!last) return [];
  const end = pointOnArc(last.arc, last.toS);
  // What covers the end here may cover it there too.
  const near = [nearestOnRun(other, end, (p) => p.seen), nearestOnRun(other, end)];
  const start = near.find((place) => place && place.distanceMm <= sameRunMm);
  if (!start) return [];
  const count = other.closed ? other.pieces.length + 1 : other.pieces.length - start.piece;
  const out: MeasuredPiece[] = [];
  for (let i = 0; i < count; i++) {
    const whole = other.pieces[(start.piece + i) % other.pieces.length];
    const piece = i === 0 ? { ...whole, fromS: start.s } : whole;
    if (piece.toS - piece.fromS < shortestMm) continue;
    const middle = pointOnArc(piece.arc, (piece.fromS + piece.toS) / 2);
    const back = nearestOnRun(run, middle);
    // What is left of the piece at the run's own end is near that end; nothing else may come back to the run.
    const isOwnEnd = back?.piece === run.pieces.length - 1 && back.s >= last.toS;
    if (back && !isOwnEnd && back.distanceMm < sameRunMm) break;
    out.push(piece);
  }
  while (out.length > 0 && !out[out.length - 1].seen) out.pop();
  return out.reduce((sum, p) => sum + p.toS - p.fromS, 0) >= leastAddedMm ? out : [];
}

function endsMeet(pieces: readonly MeasuredPiece[]): boolean {
  const a = pieces[pieces.length - 1];
  const b = pieces[0];
  const p = pointOnArc(a.arc, a.toS);
  const q = pointOnArc(b.arc, b.fromS);
  return Math.hypot(p.x - q.x, p.y - q.y) < sameRunMm && Math.cos(p.headingRad - q.headingRad) > Math.cos(parallelRad);
}
