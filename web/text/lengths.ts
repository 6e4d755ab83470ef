import * as exact from '../../server/units/exact-length.js';
import * as written from '../../server/units/format-length.js';
import { unbroken } from '../../server/units/unbroken.js';

/*
 * Lengths as the page shows them: written by the same functions as on paper and in files, with no-break spaces so that
 * `3 11/16 in` never falls apart at the end of a line.
 */

type Written<F extends (...given: never[]) => string> = (...given: Parameters<F>) => string;

const onOneLine =
  <F extends (...given: never[]) => string>(write: F): Written<F> =>
  (...given) =>
    unbroken(write(...given));

/** A length without its uncertainty; as `formatLength` of the units. */
export const formatLength = onOneLine(written.formatLength);

/** A measured length and how far it may be off; as `formatEstimate` of the units. */
export const formatEstimate = onOneLine(written.formatEstimate);

/** An exact length in both units, ≈ before a fraction that is not exact; as `bothUnitsInLine` of the units. */
export const bothUnitsInLine = onOneLine(exact.bothUnitsInLine);

/** An exact length in the user's unit, in fractions as fine as a plan's steps; ≈ where they do not tell it. */
export function exactLength(lengthMm: number, style: written.LengthStyle, stepMm?: number): string {
  return unbroken(exact.bothUnits(lengthMm, exact.styleForStep(style, stepMm)).first);
}
