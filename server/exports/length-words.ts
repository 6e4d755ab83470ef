import type { Estimate } from '../units/estimate.js';
import type { LengthWords } from '../units/exact-length.js';
import { formatEstimate, type LengthStyle } from '../units/format-length.js';
import { mmPerInch } from '../units/inches.js';

/** A measured length with its ± at 95 % in both units, the user's first. */
export function bothEstimates(estimate: Estimate, style: LengthStyle): LengthWords {
  const inches = formatEstimate(estimate, { ...style, unit: 'in' });
  const mm = formatEstimate(estimate, { ...style, unit: 'mm' });
  return style.unit === 'in' ? { first: inches, second: mm } : { first: mm, second: inches };
}

/** What is less than a step, where a fraction would not tell it: `0.06 in`. */
export function finely(lengthMm: number, style: LengthStyle): string {
  return style.unit === 'in' ? `${(lengthMm / mmPerInch).toFixed(2)} in` : `${lengthMm.toFixed(1)} mm`;
}
