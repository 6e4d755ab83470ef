import { type Estimate, halfWidth95 } from './estimate.js';
import { type FractionDenominator, formatInches } from './inches.js';

/** How a person wants lengths written; one switch for the whole tool. */
export interface LengthStyle {
  readonly unit: 'in' | 'mm';
  readonly denominator: FractionDenominator;
}

export const defaultLengthStyle: LengthStyle = { unit: 'in', denominator: 16 };

/** Writes a length without its uncertainty, for exact things such as a stock length. */
export function formatLength(lengthMm: number, style: LengthStyle): string {
  return style.unit === 'in' ? formatInches(lengthMm, style.denominator) : `${lengthMm.toFixed(1)} mm`;
}

/** Writes how far a length may be off, at 95 %: `± 0.5 mm`, `± 0.02 in`. */
export function formatPlusMinus(u: number, style: LengthStyle): string {
  const half = halfWidth95({ value: 0, u });
  if (style.unit === 'mm') return `± ${half < 0.1 ? half.toFixed(2) : half.toFixed(1)} mm`;
  return `± ${(Math.ceil((half / 25.4) * 100) / 100).toFixed(2)} in`;
}

/** Writes a measured length with its 95 % half width: `2 1/16 in ± 0.02 in`, `52.4 ± 0.5 mm`. */
export function formatEstimate(lengthMm: Estimate, style: LengthStyle): string {
  if (style.unit === 'mm') return `${lengthMm.value.toFixed(1)} ${formatPlusMinus(lengthMm.u, style)}`;
  return `${formatInches(lengthMm.value, style.denominator)} ${formatPlusMinus(lengthMm.u, style)}`;
}
