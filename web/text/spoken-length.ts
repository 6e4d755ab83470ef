import type { Estimate } from '../../server/units/estimate.js';
import { type LengthStyle, writtenHalfWidth } from '../../server/units/format-length.js';
import { formatInches } from '../../server/units/inches.js';

/**
 * A measured length in words that a screen reader says well: `2 and 1/16 inches, give or take 0.02`.
 * @param lengthMm millimetres with their standard uncertainty
 */
export function spokenEstimate(lengthMm: Estimate, style: LengthStyle): string {
  const half = writtenHalfWidth(lengthMm, style);
  if (style.unit === 'mm') return `${lengthMm.value.toFixed(1)} millimetres, give or take ${half}`;
  const inches = formatInches(lengthMm.value, style.denominator).replace(/ in$/, '').replace('−', 'minus ');
  return `${inches.replace(/(\d) (\d)/, '$1 and $2')} inches, give or take ${half}`;
}
