import { describe, expect, it } from 'vitest';
import { defaultLengthStyle, formatEstimate, formatLength } from '../../../server/units/format-length.js';
import { unbroken } from '../../../server/units/unbroken.js';

describe('lengths that stay on one line', () => {
  it('hold a fraction to its whole number, the unit to both, ± and ≈ to what follows', () => {
    expect(unbroken('≈ 3 11/16 in ± 0.02 in')).toBe('≈\u00a03\u00a011/16\u00a0in ±\u00a00.02\u00a0in');
    expect(unbroken('55.5 mm + 23.8 mm = 79.3 ± 0.7 mm')).toBe('55.5\u00a0mm + 23.8\u00a0mm = 79.3 ±\u00a00.7\u00a0mm');
  });

  it('leave words alone that only begin like a unit', () => {
    expect(unbroken('Lay 2 in a row, 3 inside, F1 in R1')).toBe('Lay 2\u00a0in a row, 3 inside, F1\u00a0in R1');
  });

  it('are not what files get: those keep plain spaces', () => {
    const written = [
      formatLength(93.6625, defaultLengthStyle),
      formatEstimate({ value: 93.6625, u: 0.2 }, defaultLengthStyle),
    ];
    for (const text of written) expect(text).not.toContain('\u00a0');
  });
});
