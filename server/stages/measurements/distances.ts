import { quadraticForm } from '../../linalg/quadratic-form.js';
import type { MeasuredLayout, MeasuredPiece, MeasuredRun, MeasuredSide } from '../../scene/measured-layout.js';
import { type Arc, pointOnArc } from '../../scene/track-observation.js';
import { outsideFaceOffsetMm } from '../../scene/track-profile.js';
import type { Estimate } from '../../units/estimate.js';
import { seenAt } from './seen-at.js';
import { sidesNotSeen } from './unseen-sides.js';

/**
 * What a rail head and a table's edge may be off, one from the other, for want of a perfect model of light and blur,
 * millimetres: found on pictures with known truth.
 */
export const modelUMm = 0.11;

/** Standard uncertainty of a place along the track where a joint holds it, millimetres. */
const jointUMm = 0.3;

export interface FaceDistance {
  readonly side: string;
  readonly run: string;
  readonly distance: Estimate;
  readonly at: readonly [number, number];
  readonly edgeAt: readonly [number, number];
  readonly seen: { photo: string; px: [number, number] }[];
}

/**
 * Every 8 mm along every seen piece, the distance of the nearer outside face to the nearest side; where another side becomes
 * the nearest, that of both. None where a side that no photo shows is likely to be nearer.
 */
export function profileOfRun(layout: MeasuredLayout, run: MeasuredRun): FaceDistance[] {
  const mayLie = sidesNotSeen(layout);
  const out: FaceDistance[] = [];
  for (const piece of run.pieces) {
    if (!piece.seen) continue;
    const length = piece.toS - piece.fromS;
    const count = Math.max(1, Math.ceil(length / 8));
    let last: { s: number; side: string } | null = null;
    for (let i = 0; i <= count; i++) {
      const s = piece.fromS + (i / count) * length;
      const nearest = nearestSide(layout, run, piece, s);
      const best = nearest && !mayLie(...nearest.at, nearest.distance.value) ? nearest : null;
      if (best && last && last.side !== best.side)
        out.push(...whereAlike(layout, run, piece, last, { s, side: best.side }));
      if (best) out.push(best);
      last = best && { s, side: best.side };
    }
  }
  return out;
}

/** The distances of two sides at the place between two others where they are alike. */
function whereAlike(
  layout: MeasuredLayout,
  run: MeasuredRun,
  piece: MeasuredPiece,
  from: { readonly s: number; readonly side: string },
  to: { readonly s: number; readonly side: string },
): FaceDistance[] {
  let [a, b] = [from.s, to.s];
  for (let i = 0; i < 6; i++) {
    const middle = (a + b) / 2;
    if (nearestSide(layout, run, piece, middle)?.side === from.side) a = middle;
    else b = middle;
  }
  return distancesAt(layout, run, piece, (a + b) / 2).filter((d) => d.side === from.side || d.side === to.side);
}

/** All distances of one place on a run, one for each side whose foot lies on the side. */
export function distancesAt(layout: MeasuredLayout, run: MeasuredRun, piece: MeasuredPiece, s: number): FaceDistance[] {
  return facesAt(layout, piece, s).map((face) => distanceOf(layout, run, face));
}

/** The outside face of one place on a run that is nearer to a side, and its foot there. */
interface NearerFace {
  readonly piece: MeasuredPiece;
  readonly s: number;
  /** Sideways of the centre line, left positive, millimetres. */
  readonly offsetMm: number;
  /** Table frame. */
  readonly x: number;
  readonly y: number;
  readonly side: MeasuredSide;
  readonly foot: Foot;
}

function facesAt(layout: MeasuredLayout, piece: MeasuredPiece, s: number): NearerFace[] {
  const faceMm = outsideFaceOffsetMm(layout.track);
  const out: NearerFace[] = [];
  for (const side of layout.sides) {
    let nearest: NearerFace | null = null;
    for (const offsetMm of [-faceMm, faceMm]) {
      const { x, y } = pointOnArc(piece.arc, s, offsetMm);
      const foot = footOn(side, x, y);
      if (foot.s < side.fromS - 1 || foot.s > side.toS + 1) continue;
      if (nearest && foot.distance >= nearest.foot.distance) continue;
      nearest = { piece, s, offsetMm, x, y, side, foot };
    }
    if (nearest) out.push(nearest);
  }
  return out;
}

function distanceOf(layout: MeasuredLayout, run: MeasuredRun, face: NearerFace): FaceDistance {
  const { piece, s, offsetMm, x, y, side, foot } = face;
  const { arc, arcIndex } = side;
  const normal = [-Math.sin(arc.headingRad), Math.cos(arc.headingRad)] as const;
  const u = Math.hypot(
    distanceU(layout, placeOnPiece(piece, s, offsetMm), { arc, arcIndex, x: foot.x, y: foot.y, alongUMm: 0 }, normal),
    piece.seen ? 0 : hiddenU(piece),
  );
  return {
    side: side.name,
    run: run.id,
    distance: { value: foot.distance, u },
    at: [x, y],
    edgeAt: [foot.x, foot.y],
    seen: seenAt(layout, x, y),
  };
}

/** Standard uncertainty of covered track, of which only the ends are known; from straights that go over into curves under a cover. */
function hiddenU(piece: MeasuredPiece): number {
  return Math.max(1, 0.01 * (piece.toS - piece.fromS));
}

function nearestSide(layout: MeasuredLayout, run: MeasuredRun, piece: MeasuredPiece, s: number): FaceDistance | null {
  const all = distancesAt(layout, run, piece, s);
  if (all.length === 0) return null;
  return all.reduce((a, b) => (b.distance.value < a.distance.value ? b : a));
}

/** Foot of a point on a side's line: how far along it, the distance (positive on the table's side), and its place, table frame. */
interface Foot {
  readonly s: number;
  readonly distance: number;
  readonly x: number;
  readonly y: number;
}

function footOn(side: MeasuredSide, x: number, y: number): Foot {
  const c = Math.cos(side.arc.headingRad);
  const n = Math.sin(side.arc.headingRad);
  const dx = x - side.arc.x;
  const dy = y - side.arc.y;
  const s = dx * c + dy * n;
  return { s, distance: -dx * n + dy * c, x: side.arc.x + s * c, y: side.arc.y + s * n };
}

/** A place on an arc of the adjustment, between which and another a distance is taken; table frame. */
export interface PlaceOnArc {
  readonly arc: Arc;
  readonly arcIndex: number;
  readonly x: number;
  readonly y: number;
  /** How well the arc is held along itself; 0 for a table side, which has no along. */
  readonly alongUMm: number;
}

/**
 * Standard uncertainty of the distance between two places, from the joint covariance of their arcs (JCGM 100:2008, 5.2.2).
 * @param n unit vector from b to a
 * @param ofModelMm what both may be off for want of a perfect model
 */
export function distanceU(
  layout: MeasuredLayout,
  a: PlaceOnArc,
  b: PlaceOnArc,
  n: readonly [number, number],
  ofModelMm = modelUMm,
): number {
  const [ja, jb] = [derivativesAt(a, n), derivativesAt(b, n)];
  const aa = layout.arcCovariance(a.arcIndex, a.arcIndex);
  const bb = layout.arcCovariance(b.arcIndex, b.arcIndex);
  const ab = layout.arcCovariance(a.arcIndex, b.arcIndex);
  if (!aa || !bb || !ab) return Math.hypot(1, ofModelMm);
  const variance =
    quadraticForm(ja.across, aa, ja.across) +
    quadraticForm(jb.across, bb, jb.across) -
    2 * quadraticForm(ja.across, ab, jb.across);
  return Math.hypot(Math.sqrt(Math.max(0, variance)), ofModelMm, ja.along * a.alongUMm, jb.along * b.alongUMm);
}

/** How a place moves along n as its arc moves by (x, y, heading), and as it slides along itself. */
function derivativesAt({ arc, x, y }: PlaceOnArc, [nx, ny]: readonly [number, number]) {
  const [ux, uy] = [Math.cos(arc.headingRad), Math.sin(arc.headingRad)];
  const turning = -nx * (y - arc.y) + ny * (x - arc.x);
  // An arc of the adjustment may slide along itself, turning as it bends: its ends are held by what was seen there.
  const along = nx * ux + ny * uy + arc.curvaturePerMm * turning;
  return { across: [nx - along * ux, ny - along * uy, turning], along };
}

/** A place on a piece of a run. */
export function placeOnPiece({ arc, arcIndex, alongUMm }: MeasuredPiece, s: number, offsetMm: number): PlaceOnArc {
  const { x, y } = pointOnArc(arc, s, offsetMm);
  return { arc, arcIndex, x, y, alongUMm: alongUMm ?? jointUMm };
}

/**
 * Smallest distance of each run to each side: the least of its profile places, refined between them. Where track is covered
 * counts only if it is surely nearer than all track that is seen.
 */
export function smallestClearances(layout: MeasuredLayout): FaceDistance[] {
  const out: FaceDistance[] = [];
  for (const run of layout.runs) {
    const seen = new Map<MeasuredSide, NearerFace>();
    const covered = new Map<MeasuredSide, NearerFace>();
    for (const piece of run.pieces) {
      const least = piece.seen ? seen : covered;
      const length = piece.toS - piece.fromS;
      const count = Math.max(2, Math.ceil(length / 2));
      for (let i = 0; i <= count; i++)
        for (const face of facesAt(layout, piece, piece.fromS + (i / count) * length)) {
          const known = least.get(face.side);
          if (!known || face.foot.distance < known.foot.distance) least.set(face.side, face);
        }
    }
    for (const side of layout.sides) {
      const [bare, under] = [seen, covered].map((least) => {
        const face = least.get(side);
        return face && distanceOf(layout, run, face);
      });
      const surely = under && (!bare || under.distance.value + 2 * under.distance.u < bare.distance.value);
      const smallest = surely ? under : bare;
      if (smallest) out.push(smallest);
    }
  }
  return out;
}
