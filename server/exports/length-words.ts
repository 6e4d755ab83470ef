import type { Estimate } from '../units/estimate.js';
import type { LengthWords } from '../units/exact-length.js';
import { formatEstimate, type LengthStyle } from '../units/format-length.js';

/** A measured length with its ± at 95 % in both units, the user's first. */
export function bothEstimates(estimate: Estimate, style: LengthStyle): LengthWords {
  const inches = formatEstimate(estimate, { ...style, unit: 'in' });
  const mm = formatEstimate(estimate, { ...style, unit: 'mm' });
  return style.unit === 'in' ? { first: inches, second: mm } : { first: mm, second: inches };
}
