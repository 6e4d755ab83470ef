import type { Estimate } from '../units/estimate.js';
import { formatEstimate, formatLength, type LengthStyle } from '../units/format-length.js';
import { formatInches, mmPerInch, roundToFraction } from '../units/inches.js';

/** A length in the user's unit first and in the other beside it. */
export interface LengthWords {
  readonly first: string;
  readonly second: string;
}

/**
 * An exact length (a stock length, a length to cut) in both units. Where the fraction is more than 0.05 mm away from
 * the millimetres it is marked ≈, so that nobody takes it for the exact length.
 */
export function bothUnits(lengthMm: number, style: LengthStyle): LengthWords {
  const offMm = Math.abs(
    (roundToFraction(lengthMm, style.denominator) / style.denominator) * mmPerInch - Math.abs(lengthMm),
  );
  const inches = `${offMm > 0.05 ? '≈ ' : ''}${formatInches(lengthMm, style.denominator)}`;
  const mm = formatLength(lengthMm, { ...style, unit: 'mm' });
  return style.unit === 'in' ? { first: inches, second: mm } : { first: mm, second: inches };
}

/** The style with fractions as fine as the steps that a plan's lengths were made in, where those are fractions of an inch. */
export function styleForStep(style: LengthStyle, stepMm: number | undefined): LengthStyle {
  const perInch = stepMm === undefined ? 0 : mmPerInch / stepMm;
  const needed = ([16, 32, 64] as const).find((denominator) => Math.abs(perInch - denominator) < 1e-3);
  return needed === undefined || needed <= style.denominator ? style : { ...style, denominator: needed };
}

/** `4 in (101.6 mm)` or `101.6 mm (4 in)`. */
export function bothUnitsInLine(lengthMm: number, style: LengthStyle): string {
  const words = bothUnits(lengthMm, style);
  return `${words.first} (${words.second})`;
}

/** A measured length with its ± at 95 % in both units, the user's first. */
export function bothEstimates(estimate: Estimate, style: LengthStyle): LengthWords {
  const inches = formatEstimate(estimate, { ...style, unit: 'in' });
  const mm = formatEstimate(estimate, { ...style, unit: 'mm' });
  return style.unit === 'in' ? { first: inches, second: mm } : { first: mm, second: inches };
}

/** A rough distance for finding a place: whole inches or centimetres. */
export function roughly(lengthMm: number, style: LengthStyle): string {
  return style.unit === 'in' ? `${Math.round(lengthMm / mmPerInch)} in` : `${Math.round(lengthMm / 10)} cm`;
}
