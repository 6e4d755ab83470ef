import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { middleOf } from '../../../server/linalg/middle.js';

describe('the middle of values', () => {
  it('is that of the sorted values, which stay as they are', () => {
    const value = fc.oneof(fc.double({ noNaN: true }), fc.integer({ min: -3, max: 3 }), fc.constant(Number.NaN));
    fc.assert(
      fc.property(fc.array(value, { minLength: 1, maxLength: 60 }), (values) => {
        const given = Float64Array.from(values);
        expect(middleOf(given) + 0).toBe(Float64Array.from(values).sort()[values.length >> 1] + 0);
        expect(given).toEqual(Float64Array.from(values));
      }),
    );
  });
});
