import type { ReportJoint } from '../../server/contract/report.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import { formatEstimate } from './lengths.js';

/**
 * What was seen of each rail at a joint, as names with words. A closed joint is a slit that all rails share: it is seen
 * as a whole and has no width for each rail.
 */
export function railRows({ open, rails }: ReportJoint, style: LengthStyle): [string, string][] {
  if (!rails) return [];
  const seen = [rails.left, rails.centre, rails.right];
  if (!open && seen.every((rail) => rail === null)) return [['Rails', 'seen together, as one slit across them']];
  return (['Left rail', 'Centre rail', 'Right rail'] as const).map((name, i) => {
    const rail = seen[i];
    return [name, rail ? formatEstimate(rail, style) : 'not seen'];
  });
}
