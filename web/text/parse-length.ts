import { mmPerInch } from '../../server/units/inches.js';

/** Everything that a person may type as a length: `3`, `3 1/16`, `3-1/16`, `1/16`, `3.5`, `76.2 mm`, `7.6 cm`, `3"`. */
const pattern = /^(\d+(?:[.,]\d+)?)?(?:(?:^|[ -]+)(\d+)\/(\d+))? *(in|inch|inches|"|″|mm|cm)?$/i;

/**
 * Reads a typed length.
 * @param unit what a bare number means
 * @returns millimetres, or null when it is no length
 */
export function parseLength(text: string, unit: 'in' | 'mm'): number | null {
  const match = pattern.exec(text.trim().replace(/\s+/g, ' '));
  if (!match || (match[1] === undefined && match[2] === undefined)) return null;
  const whole = match[1] === undefined ? 0 : Number(match[1].replace(',', '.'));
  const bottom = match[3] === undefined ? 1 : Number(match[3]);
  if (bottom === 0) return null;
  const value = whole + (match[2] === undefined ? 0 : Number(match[2]) / bottom);
  return value * mmIn(match[4]?.toLowerCase() ?? unit);
}

function mmIn(unit: string): number {
  if (unit === 'mm') return 1;
  return unit === 'cm' ? 10 : mmPerInch;
}
