import { describe, expect, it } from 'vitest';
import { halfWidth95 } from '../../../server/units/estimate.js';
import { formatEstimate, formatPlusMinus, type LengthStyle } from '../../../server/units/format-length.js';

const inches = (denominator: LengthStyle['denominator']): LengthStyle => ({ unit: 'in', denominator });

describe('a measured length as it is written', () => {
  it('says how far it may be off from the fraction that stands there', () => {
    expect(formatEstimate({ value: 52.3875, u: 0.2 }, inches(16))).toBe('2 1/16 in ± 0.02 in');
    // 11.7 mm lie 0.59 mm above 7/16 in: 12.0 mm, within the ± 0.36 mm of the measurement, must be within what is written.
    expect(formatEstimate({ value: 11.7, u: 0.184 }, inches(16))).toBe('7/16 in ± 0.04 in');
    expect(formatEstimate({ value: 11.7, u: 0.184 }, inches(64))).toBe('29/64 in ± 0.03 in');
    expect(formatEstimate({ value: 11.7, u: 0.184 }, { unit: 'mm', denominator: 16 })).toBe('11.7 ± 0.4 mm');
    expect(formatPlusMinus(0.2, inches(16))).toBe('± 0.02 in');
  });

  it('holds the whole interval, however it is rounded', () => {
    for (let value = -60; value < 60; value += 0.37)
      for (const denominator of [16, 32, 64] as const) {
        const written = formatEstimate({ value, u: 0.15 }, inches(denominator));
        const [, sign, whole, top, bottom, half] =
          /^(−?)(?:(\d+) ?)??(?:(\d+)\/(\d+))? in ± ([\d.]+) in$/.exec(written) ?? [];
        const length = Number(whole ?? 0) + (top ? Number(top) / Number(bottom) : 0);
        const middle = 25.4 * (sign ? -length : length);
        const least = Math.abs(middle - value) + halfWidth95({ value, u: 0.15 });
        expect(25.4 * Number(half), written).toBeGreaterThanOrEqual(least - 1e-9);
        expect(25.4 * Number(half), written).toBeLessThan(least + 0.26);
      }
  });
});
