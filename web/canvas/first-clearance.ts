import type { Report } from '../../server/contract/report.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import { mmPerInch } from '../../server/units/inches.js';

/** Room that trains and a hand usually want beside the rail, 3 in: common practice, no source. */
const usualMm = 3 * mmPerInch;

/**
 * What a new wish for room along a side starts from: what is there at its narrowest where that is more than usual, down to
 * a round length, so that the wish is met as the track lies.
 */
export function firstClearanceMm(
  { clearances }: Pick<Report, 'clearances'>,
  side: string,
  unit: LengthStyle['unit'],
): number {
  const stepMm = unit === 'in' ? mmPerInch / 4 : 5;
  const all = clearances.filter((c) => c.side === side).map((c) => c.distance.value);
  if (all.length === 0) return usualMm;
  return Math.max(usualMm, Math.floor(Math.min(...all) / stepMm) * stepMm);
}
