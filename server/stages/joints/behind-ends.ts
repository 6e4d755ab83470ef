import type { GapInTrail } from './table-spans.js';

/** What lies behind the end of a gap, where the rails should be that end there. */
export type Behind = 'rails' | 'table' | 'cover';

/** So far behind an end it is looked at what lies there, millimetres. */
export const behindMm = 21;

/** Rails are missing in so much of it at least, and so much of it, or so little, looks like the table. */
const missingShare = 0.9;
const tableShare = 0.93;
const coverShare = 0.2;

/**
 * @param missing share of what lies behind an end in which rails are missing: rust may hide them
 * @param table share of its places that look like the table, worked out where it matters
 */
export function whatLiesBehind(missing: number, table: () => number): Behind {
  if (missing < missingShare) return 'rails';
  const share = table();
  if (share > tableShare) return 'table';
  return share < coverShare ? 'cover' : 'rails';
}

/**
 * Beside a cover under which rails may end only a longer gap, in which the table shows plainly more than beside it, is told
 * from the shade at its edge: so it is with three true ones of 24 mm and more, and not with two false ones of 12 and 33 mm.
 */
const besideCover = { gapMm: 20, step: 2.5 };

/**
 * Whether a gap may have ends with that behind them. No rail ends where nothing but table lies behind: a shade on it ends
 * there, or a wagon of its colour. Of 790 drawn gaps none was like that, and two of eight false ones were.
 * @param shown what shows in the flanges' place in the gap; null where that is not told
 */
export function mayEndThere(ends: readonly Behind[], gapMm: number, shown: GapInTrail | null): boolean {
  if (ends.includes('table')) return false;
  if (!ends.includes('cover')) return true;
  return gapMm > besideCover.gapMm && shown !== null && shown.step > besideCover.step;
}
