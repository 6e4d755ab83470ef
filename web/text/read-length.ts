import type { LengthStyle } from '../../server/units/format-length.js';
import { parseLength, saysUnit } from './parse-length.js';
import { fieldLength } from './written-length.js';

/** What a field takes. */
export interface LengthRange {
  readonly leastMm: number;
  readonly mostMm: number;
  /** Whether it may stay empty. */
  readonly optional: boolean;
}

/** A read length, null of an empty field, or what to type instead. */
export type ReadLength =
  | { readonly ok: true; readonly lengthMm: number | null }
  | { readonly ok: false; readonly wrong: string };

/** Reads what stands in a field for a length. @param style the unit beside the field is what a bare number means */
export function readLength(typed: string, style: LengthStyle, range: LengthRange): ReadLength {
  const { unit } = style;
  const text = typed.trim();
  if (text === '' && range.optional) return { ok: true, lengthMm: null };
  const lengthMm = parseLength(text, unit);
  if (lengthMm === null)
    return wrong(unit === 'in' ? 'Type a length such as 3 1/16 or 76 mm.' : 'Type a length such as 76.5.');
  const isWithin = (mm: number): boolean => mm >= range.leastMm && mm <= range.mostMm;
  const asInches = saysUnit(text) || unit === 'in' ? null : parseLength(text, 'in');
  const meansInches = asInches !== null && isWithin(asInches) && (text.includes('/') || !isWithin(lengthMm));
  // Nobody writes millimetres as a fraction, and what is too small for them may be inches.
  const how = meansInches ? ` For inches type ${text} in.` : '';
  if (!isWithin(lengthMm)) {
    const [least, most] = [range.leastMm, range.mostMm].map((mm) => fieldLength(mm, style));
    return wrong(`It must be between ${least} and ${most} ${unit}.${how}`);
  }
  return meansInches ? wrong(`A fraction of what?${how}`) : { ok: true, lengthMm };
}

function wrong(what: string): ReadLength {
  return { ok: false, wrong: what };
}
