import { styleToTell } from '../units/exact-length.js';
import type { LengthStyle } from '../units/format-length.js';
import type { ToldBy } from './gap-readings.js';

/** Said beside the length of a gap. */
export const toldWords = {
  photo: '',
  rule: 'by the rule',
  'photo and rule': 'checked with the rule',
} as const satisfies Record<ToldBy, string>;

/**
 * The style with fractions as fine as a rule is read, where one was laid: to the sixteenth a gap that was checked would
 * look less sure than it did by the photo alone, as its ± holds what the fraction is off by.
 */
export function styleToldBy(toldBy: ToldBy, lengthMm: number, style: LengthStyle): LengthStyle {
  return toldBy === 'photo' ? style : styleToTell(lengthMm, style);
}
