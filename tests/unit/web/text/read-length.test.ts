import { describe, expect, test } from 'vitest';
import { readLength } from '../../../../web/text/read-length.js';

const mm = { unit: 'mm', denominator: 64 } as const;
const inches = { unit: 'in', denominator: 16 } as const;
const markerSide = { leastMm: 10, mostMm: 1000, optional: false };

describe('what stands in a field for a length', () => {
  test('is read in the unit beside the field, or in one of its own', () => {
    expect(readLength('120', mm, markerSide)).toEqual({ ok: true, lengthMm: 120 });
    expect(readLength('4 3/4 in', mm, markerSide)).toEqual({ ok: true, lengthMm: 4.75 * 25.4 });
    expect(readLength('4 3/4', inches, markerSide)).toEqual({ ok: true, lengthMm: 4.75 * 25.4 });
    expect(readLength('0.5 ft', mm, markerSide)).toEqual({ ok: true, lengthMm: 6 * 25.4 });
  });

  test.each([
    ['4 3/4', 'It must be between 10 and 1000 mm. For inches type 4 3/4 in.'],
    ['4.75', 'It must be between 10 and 1000 mm. For inches type 4.75 in.'],
    ['12 1/2', 'A fraction of what? For inches type 12 1/2 in.'],
    ['5000', 'It must be between 10 and 1000 mm.'],
    ['5000 mm', 'It must be between 10 and 1000 mm.'],
    ['4.75 mm', 'It must be between 10 and 1000 mm.'],
    ['', 'Type a length such as 76.5.'],
    ['about 120', 'Type a length such as 76.5.'],
  ])('in millimetres “%s” is not taken, and what to type is said', (typed, wrong) => {
    expect(readLength(typed, mm, markerSide)).toEqual({ ok: false, wrong });
  });

  test('in inches what is out of range is told in inches, and nothing of millimetres is guessed', () => {
    expect(readLength('120', inches, markerSide)).toEqual({
      ok: false,
      wrong: 'It must be between 3/8 and 39 3/8 in.',
    });
  });

  test('an empty field is taken only where it may stay empty', () => {
    expect(readLength(' ', mm, { ...markerSide, optional: true })).toEqual({ ok: true, lengthMm: null });
    expect(readLength(' ', inches, markerSide).ok).toBe(false);
  });
});
