import { type Estimate, halfWidth95 } from './estimate.js';
import { type FractionDenominator, formatInches, mmPerInch, roundToFraction } from './inches.js';

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

/**
 * Half width of the interval about a length as it is written that holds its whole 95 % interval, in the style's unit to the
 * hundredth, rounded up in inches: a fraction may lie half a step from what was measured.
 */
export function writtenHalfWidth(lengthMm: Estimate, style: LengthStyle): string {
  const half = halfWidth95(lengthMm);
  if (style.unit === 'mm') return half < 0.1 ? half.toFixed(2) : half.toFixed(1);
  const size = Math.abs(lengthMm.value);
  const writtenMm = (roundToFraction(size, style.denominator) * mmPerInch) / style.denominator;
  return (Math.ceil(((half + Math.abs(writtenMm - size)) / mmPerInch) * 100) / 100).toFixed(2);
}

/** Writes how far a length may be off, at 95 %: `± 0.5 mm`, `± 0.02 in`. */
export function formatPlusMinus(u: number, style: LengthStyle): string {
  return `± ${writtenHalfWidth({ value: 0, u }, style)} ${style.unit}`;
}

/** Writes a measured length and how far it may be off as it is written: `2 1/16 in ± 0.02 in`, `52.4 ± 0.5 mm`. */
export function formatEstimate(lengthMm: Estimate, style: LengthStyle): string {
  const half = `± ${writtenHalfWidth(lengthMm, style)} ${style.unit}`;
  const length = style.unit === 'mm' ? lengthMm.value.toFixed(1) : formatInches(lengthMm.value, style.denominator);
  return `${length} ${half}`;
}

/** What is less than a step, where a fraction would not tell it: `0.06 in`. */
export function formatFinely(lengthMm: number, style: LengthStyle): string {
  return style.unit === 'in' ? `${(lengthMm / mmPerInch).toFixed(2)} in` : `${lengthMm.toFixed(1)} mm`;
}
