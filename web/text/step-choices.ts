import type { LengthStyle } from '../../server/units/format-length.js';
import { mmPerInch } from '../../server/units/inches.js';

/** A step that filler lengths may be made in, and what it is called. */
export interface StepChoice {
  readonly mm: number;
  readonly name: string;
}

const inInches: readonly StepChoice[] = [16, 32, 64].map((n) => ({ mm: mmPerInch / n, name: `1/${n} in` }));
const inMm: readonly StepChoice[] = [1, 0.5].map((mm) => ({ mm, name: `${mm} mm` }));
const sameMm = 1e-6;

/** The steps to choose from, those of the reader's unit first; fractions of an inch with their millimetres for who reads those. */
export function stepChoices(nowMm: number, unit: LengthStyle['unit']): readonly StepChoice[] {
  const both =
    unit === 'in'
      ? [...inInches, ...inMm]
      : [...inMm, ...inInches.map(({ mm, name }) => ({ mm, name: `${mm.toFixed(2)} mm (${name})` }))];
  const known = both.some(({ mm }) => Math.abs(mm - nowMm) < sameMm);
  return known ? both : [{ mm: nowMm, name: `${nowMm} mm` }, ...both];
}
