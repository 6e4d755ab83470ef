import { type Estimate, halfWidth95 } from '../../server/units/estimate.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import { formatInches } from '../../server/units/inches.js';

/**
 * A measured length in words that a screen reader says well: `2 and 1/16 inches, give or take 0.02`.
 * @param lengthMm millimetres with their standard uncertainty
 */
export function spokenEstimate(lengthMm: Estimate, style: LengthStyle): string {
  const half = halfWidth95(lengthMm);
  if (style.unit === 'mm') {
    return `${lengthMm.value.toFixed(1)} millimetres, give or take ${half < 0.1 ? half.toFixed(2) : half.toFixed(1)}`;
  }
  const inches = formatInches(lengthMm.value, style.denominator).replace(/ in$/, '').replace('−', 'minus ');
  return `${inches.replace(/(\d) (\d)/, '$1 and $2')} inches, give or take ${(Math.ceil((half / 25.4) * 100) / 100).toFixed(2)}`;
}
