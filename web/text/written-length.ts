import { formatLength, type LengthStyle } from '../../server/units/format-length.js';

/** A length as it stands in a field that is to be edited: without the unit, which stands beside the field. */
export function fieldLength(lengthMm: number, style: LengthStyle): string {
  if (style.unit === 'mm') return String(Math.round(lengthMm * 10) / 10);
  return formatLength(lengthMm, style).replace(/ in$/, '');
}

export const unitName: Record<LengthStyle['unit'], string> = { in: 'inches', mm: 'millimetres' };
