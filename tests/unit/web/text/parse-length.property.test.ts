import fc from 'fast-check';
import { expect, test } from 'vitest';
import { formatInches, mmPerInch } from '../../../../server/units/inches.js';
import { parseLength } from '../../../../web/text/parse-length.js';
import { fieldLength } from '../../../../web/text/written-length.js';

test('what the tool writes it also reads, to the fraction it was written with', () => {
  fc.assert(
    fc.property(fc.double({ min: 0, max: 20000, noNaN: true }), fc.constantFrom(16, 32, 64), (mm, denominator) => {
      const read = parseLength(formatInches(mm, denominator as 16 | 32 | 64), 'mm');
      expect(read).not.toBeNull();
      expect(Math.abs((read as number) - mm)).toBeLessThanOrEqual(mmPerInch / denominator / 2 + 1e-9);
    }),
  );
});

test('what stands in a field can be left as it is', () => {
  fc.assert(
    fc.property(fc.double({ min: 0, max: 20000, noNaN: true }), fc.constantFrom('in', 'mm'), (mm, unit) => {
      const style = { unit: unit as 'in' | 'mm', denominator: 16 as const };
      const once = parseLength(fieldLength(mm, style), style.unit);
      expect(once).not.toBeNull();
      expect(fieldLength(once as number, style)).toBe(fieldLength(mm, style));
    }),
  );
});
