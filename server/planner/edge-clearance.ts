import { add, dot, leftOf, lengthOf, scale, subtract, type Vec } from './plane-vectors.js';
import { hitAlong, type Side, type TableShape } from './table-shape.js';
import { type Arc, placeOn, type Stroke, sharesAlong, sharesTowards, type TrackLine } from './track-line.js';

/** Where a run comes nearest to a side. */
export interface NearestToSide {
  readonly distanceMm: number;
  /** The rail face. */
  readonly at: Vec;
  readonly edgeAt: Vec;
}

/** Part of a side, from its `from` end. */
export interface SideRange {
  readonly fromMm: number;
  readonly toMm: number;
}

/** The part of a side that a wish is about: all of it, where the wish does not say. */
export function rangeOf(wish: { readonly fromMm?: number; readonly toMm?: number }, side: Side): SideRange {
  return { fromMm: wish.fromMm ?? 0, toMm: Math.min(wish.toMm ?? side.lengthMm, side.lengthMm) };
}

/**
 * Smallest rail-to-edge clearance of a run to a side: square to the side, from the outside face of the outer rail that
 * is nearer, counted only where the foot falls on the (part of the) side and nothing of the table's outline lies between.
 * @param faceMm outside face of the outer rail heads from the centre line
 * @returns null where no place of the run has its foot there
 */
export function nearestToSide(
  line: TrackLine,
  side: Side,
  table: TableShape,
  faceMm: number,
  range: SideRange = { fromMm: 0, toMm: side.lengthMm },
): NearestToSide | null {
  let best: NearestToSide | null = null;
  const feet = [range.fromMm, range.toMm, ...feetOfCorners(side, table)];
  for (const stroke of line.strokes) {
    for (const sign of [1, -1]) {
      for (const at of facePlaces(stroke, sign * faceMm, side, feet)) {
        const offset = subtract(at, side.from);
        const footMm = dot(offset, side.along);
        const distanceMm = dot(offset, side.inward);
        if (footMm < range.fromMm - 1e-6 || footMm > range.toMm + 1e-6) continue;
        if (best && distanceMm >= best.distanceMm) continue;
        if (!facesSide(at, distanceMm, side, table)) continue;
        best = { distanceMm, at, edgeAt: add(side.from, scale(side.along, footMm)) };
      }
    }
  }
  return best;
}

/** Where the outline begins or ends to lie between a side and the track: square below its corners, just on either side. */
function feetOfCorners(side: Side, table: TableShape): number[] {
  if (table.convex) return [];
  return table.outline.flatMap((corner) => {
    const footMm = dot(subtract(corner, side.from), side.along);
    return [footMm - besideCornerMm, footMm + besideCornerMm];
  });
}

const besideCornerMm = 1e-3;

/** Places on one rail face that can be the nearest: ends, extremes, and where the face stands square over given feet. */
function facePlaces(stroke: Stroke, offsetMm: number, side: Side, feet: readonly number[]): Vec[] {
  const face = (share: number): Vec => {
    const { at, along } = placeOn(stroke, share);
    return add(at, scale(leftOf(along), offsetMm));
  };
  if (stroke.kind === 'arc') {
    const crossings = feet.flatMap((footMm) => sharesAtFoot(stroke, offsetMm, side, footMm));
    return [0, 1, ...sharesAlong(stroke, side.along), ...crossings].map(face);
  }
  const from = face(0);
  const to = face(1);
  const footFrom = dot(subtract(from, side.from), side.along);
  const footTo = dot(subtract(to, side.from), side.along);
  const places = [from, to];
  for (const end of feet) {
    if (Math.abs(footTo - footFrom) < 1e-9) break;
    const share = (end - footFrom) / (footTo - footFrom);
    if (share > 0 && share < 1) places.push(face(share));
  }
  return places;
}

/** Where the rail face of an arc stands square over one place of the side. */
function sharesAtFoot(arc: Arc, offsetMm: number, side: Side, footMm: number): number[] {
  const radiusMm = lengthOf(subtract(arc.from, arc.centre)) - Math.sign(arc.sweepRad) * offsetMm;
  const alongMm = footMm - dot(subtract(arc.centre, side.from), side.along);
  const acrossMm2 = radiusMm * radiusMm - alongMm * alongMm;
  if (acrossMm2 < 0) return [];
  return [1, -1].flatMap((sign) => {
    const across = scale(side.inward, sign * Math.sqrt(acrossMm2));
    return sharesTowards(arc, add(scale(side.along, alongMm), across));
  });
}

/** Does the place look at the side without another part of the outline between? */
function facesSide(at: Vec, distanceMm: number, side: Side, table: TableShape): boolean {
  if (table.convex) return true;
  if (distanceMm < 0) return -distanceMm <= side.beyondMm;
  return hitAlong(table.outline, at, scale(side.inward, -1), 1e-6) > distanceMm - 0.5;
}
