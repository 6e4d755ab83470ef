import type { Report } from '../../server/contract/report.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import { formatInches } from '../../server/units/inches.js';
import { fieldLength } from './written-length.js';

/**
 * The marker side that a measurement rests on, in millimetres as the sheet says it, and in inches for those who work so.
 * A tape may have made it a little other than it was typed.
 */
export function markerSideWords({ markers }: Pick<Report, 'markers'>, style: LengthStyle): string {
  const sideMm = markers[0]?.sideMm;
  if (sideMm === undefined) return '';
  const mm = `${fieldLength(sideMm, { unit: 'mm', denominator: style.denominator })} mm`;
  return style.unit === 'mm' ? mm : `${mm} (${formatInches(sideMm, 64)})`;
}
