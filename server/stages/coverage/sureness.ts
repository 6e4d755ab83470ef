import type { SolvedTable } from '../../scene/solved-table.js';
import { pointOnArc } from '../../scene/track-observation.js';
import { clearanceRow, type LengthRow, nearestSide, varianceOf } from './clearance-row.js';
import { shows } from './table-area.js';

/** Standard uncertainties of the sides' lengths, null where a corner was not seen; from the covariance of two sides. */
export type SideLengthsU = (covarianceOf: (a: number, b: number) => readonly number[]) => readonly (number | null)[];

/** A place where a rail may be read, with its row for every photo that shows it. */
export interface ReadPlace {
  readonly x: number;
  readonly y: number;
  readonly side: number;
  readonly rows: ReadonlyMap<number, LengthRow>;
}

/** @returns null where no side faces the place */
export function readPlace(solved: SolvedTable, x: number, y: number): ReadPlace | null {
  const side = nearestSide(solved.sides, x, y);
  if (side === null) return null;
  const rows = new Map<number, LengthRow>();
  solved.cameras.forEach((_, photo) => {
    if (shows(solved, photo, x, y)) rows.set(photo, clearanceRow(solved, photo, side, x, y));
  });
  return { x, y, side, rows };
}

/** Places along all track that was seen, at most stepMm apart. */
export function placesOnTrack(solved: SolvedTable, stepMm: number): ReadPlace[] {
  return solved.runs.flatMap((run) =>
    run.pieces.flatMap(({ arc, seen, fromS, toS }) => {
      if (!seen) return [];
      const count = Math.max(1, Math.ceil((toS - fromS) / stepMm));
      const along = Array.from({ length: count + 1 }, (_, i) => pointOnArc(arc, fromS + (i / count) * (toS - fromS)));
      return along.map((p) => readPlace(solved, p.x, p.y)).filter((p) => p !== null);
    }),
  );
}

/**
 * Standard uncertainty of a clearance read at a place: in the photo whose readings count first, else in the best other
 * one; null where none shows it.
 * @param modelUMm what an edge may be off for want of a perfect model
 */
export function clearanceU(
  place: ReadPlace,
  primary: number,
  covariance: Float64Array,
  count: number,
  modelUMm: number,
): number | null {
  const uOf = (row: LengthRow): number =>
    Math.sqrt(varianceOf(row, covariance, count) + row.readingMm2 + modelUMm * modelUMm);
  const first = place.rows.get(primary);
  if (first) return uOf(first);
  let best: number | null = null;
  for (const row of place.rows.values()) best = Math.min(best ?? Number.POSITIVE_INFINITY, uOf(row));
  return best;
}

/** Kinds of length that a person wants to be sure of. */
export type LengthKind = 'clearance' | 'side';

/** The least sure of a kind: standard uncertainty, and which place or side. */
export interface Worst {
  readonly u: number;
  readonly index: number;
}

/** How sure the clearances of the track and the lengths of the sides are. */
export interface Sureness {
  /** The least sure of a kind; null where there is none of it. Sides are worked out when they are asked for. */
  worst(kind: LengthKind): Worst | null;
  /** Mean over the clearances. */
  readonly meanU: number;
}

export function surenessOf(
  places: readonly ReadPlace[],
  solved: Pick<SolvedTable, 'primary' | 'layout' | 'sides'>,
  covariance: Float64Array,
  modelUMm: number,
  sideLengthsU: SideLengthsU,
): Sureness {
  const { layout, primary } = solved;
  const clearances = places.map((place) => clearanceU(place, primary, covariance, layout.count, modelUMm));
  const known = clearances.filter((u) => u !== null);
  const meanU = known.reduce((sum, u) => sum + u, 0) / Math.max(1, known.length);
  const worst = worstOf(clearances);
  return {
    worst: (kind) => (kind === 'clearance' ? worst : worstOf(sideLengthsU(blocksOf(solved, covariance)))),
    meanU,
  };
}

function worstOf(list: readonly (number | null)[]): Worst | null {
  let worst: Worst | null = null;
  list.forEach((u, index) => {
    if (u !== null && (!worst || u > worst.u)) worst = { u, index };
  });
  return worst;
}

/** Covariance of (x, y, heading) of two sides by their places in the adjustment, 3 × 3 row by row. */
function blocksOf(
  { layout, sides }: Pick<SolvedTable, 'layout' | 'sides'>,
  covariance: Float64Array,
): (a: number, b: number) => number[] {
  const at = new Map(sides.map((side, i) => [side.arcIndex, layout.side[i]]));
  const n = layout.count;
  return (a, b) => {
    const [first, second] = [at.get(a) ?? 0, at.get(b) ?? 0];
    return Array.from({ length: 9 }, (_, k) => covariance[(first + Math.trunc(k / 3)) * n + second + (k % 3)]);
  };
}
