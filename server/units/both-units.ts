import type { LengthStyle } from './format-length.js';
import { formatInches, mmPerInch } from './inches.js';

/** Lengths from here on are told to the sixteenth, as the lists tell them; shorter ones to the fraction that says them. */
const sixteenthsFromMm = 5;
/** A fraction this near to a length says it as well as tenths of a millimetre do. */
const nearMm = 0.05;

/**
 * A length for a sentence that is written once for every reader: `25.4 mm (1 in)`. Whoever shows the sentence picks the
 * reader's unit with `lengthsIn`.
 * @param decimals of the millimetres
 */
export function inBoth(lengthMm: number, decimals = 1): string {
  const parts = (Math.abs(lengthMm) / mmPerInch) * 32;
  const isFine = Math.abs(parts - Math.round(parts)) * (mmPerInch / 32) > nearMm;
  const fraction = Math.abs(lengthMm) >= sixteenthsFromMm ? 16 : isFine ? 64 : 32;
  return `${lengthMm.toFixed(decimals)} mm (${formatInches(lengthMm, fraction)})`;
}

/** The same for what fractions do not tell, as how far something may be off: `0.6 mm (0.02 in)`. */
export function finelyInBoth(lengthMm: number, decimals = 1): string {
  return `${lengthMm.toFixed(decimals)} mm (${(lengthMm / mmPerInch).toFixed(2)} in)`;
}

/** The same to the sixty-fourth, for lengths that are held against each other: `51.6 mm (2 1/32 in)`. */
export function closelyInBoth(lengthMm: number): string {
  return `${lengthMm.toFixed(1)} mm (${formatInches(lengthMm, 64)})`;
}

/** A sentence whose lengths stand in both units, with those of the reader alone. */
export function lengthsIn(sentence: string, { unit }: Pick<LengthStyle, 'unit'>): string {
  return sentence.replace(/(−?-?\d+(?:\.\d+)? mm) \((−?-?[\d./ ]+ in)\)/g, unit === 'mm' ? '$1' : '$2');
}
