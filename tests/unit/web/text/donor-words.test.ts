import { describe, expect, it } from 'vitest';
import { bothUnits, markStyle } from '../../../../server/units/exact-length.js';
import { unbroken } from '../../../../server/units/unbroken.js';
import { marksOf } from '../../../../web/text/donor-words.js';
import { exactLength } from '../../../../web/text/lengths.js';

const inches = { unit: 'in', denominator: 16 } as const;
const donor = {
  donor: 'd1',
  lengthMm: 254,
  pieces: ['F1', 'F2', 'F3'],
  marksMm: [50.8, 101.0125, 179.8],
  offcutMm: 73,
};

describe('the marks of a donor on the page', () => {
  it('are finer than a step where a kerf lies before them, and own up to being rounded', () => {
    expect(marksOf(donor, inches)).toEqual(
      ['2 in (50.8 mm)', '≈ 3 63/64 in (101.0 mm)', '7 5/64 in (179.8 mm)'].map(unbroken),
    );
    expect(marksOf(donor, { ...inches, unit: 'mm' })[1]).toBe(unbroken('101.0 mm (≈ 3 63/64 in)'));
  });

  it('are those of the cut sheet', () => {
    const onPaper = donor.marksMm.map((mm) => unbroken(bothUnits(mm, markStyle(inches)).first));
    marksOf(donor, inches).forEach((mark, i) => {
      expect(mark.startsWith(onPaper[i])).toBe(true);
    });
  });
});

describe('a length to cut on the page', () => {
  it('is written as finely as the steps it was made in, with ≈ where a fraction does not tell it', () => {
    expect(exactLength(50.00625, inches, 25.4 / 32)).toBe(unbroken('1 31/32 in'));
    expect(exactLength(79, inches, 1)).toBe(unbroken('≈ 3 1/8 in'));
  });
});
