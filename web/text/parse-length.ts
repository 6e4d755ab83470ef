import { mmPerInch } from '../../server/units/inches.js';

/** Everything that a person may type as a length: `3`, `3 1/16`, `3-1/16`, `1/16`, `3.5`, `76.2 mm`, `7.6 cm`, `3"`. */
const pattern = /^(\d+(?:[.,]\d+)?)?(?:(?:^|[ -]+)(\d+)\/(\d+))? *(in|inch|inches|["″”]|mm|cm)?$/i;
/** With feet before it, as tapes are read: `6 ft`, `6' 0 1/2"`, `6 ft 1/2 in`; what follows is inches. */
const withFeet = /^([\d.,/ -]+?) *(?:ft|foot|feet|['′’])[ -]*(.*)$/i;

/**
 * Reads a typed length.
 * @param unit what a bare number means
 * @returns millimetres, or null when it is no length
 */
export function parseLength(text: string, unit: 'in' | 'mm'): number | null {
  const typed = text.trim().replace(/\s+/g, ' ');
  const feet = withFeet.exec(typed);
  if (!feet) return readNumber(typed, unit);
  const [, count, rest] = feet;
  const countMm = readNumber(count, 'in');
  const restMm = rest === '' ? 0 : /m$/i.test(rest) ? null : readNumber(rest, 'in');
  return countMm === null || restMm === null ? null : 12 * countMm + restMm;
}

/** Whether a typed length says its unit. */
export function saysUnit(text: string): boolean {
  return /[a-z"″”'′’]\s*$/i.test(text);
}

/** A number with its fraction and unit, without feet. */
function readNumber(text: string, unit: 'in' | 'mm'): number | null {
  const match = pattern.exec(text);
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
