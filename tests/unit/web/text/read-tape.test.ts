import { describe, expect, it } from 'vitest';
import { emptyTape, readTape, type TypedTape } from '../../../../web/text/read-tape.js';

const typed = (fields: Partial<TypedTape>): TypedTape => ({ ...emptyTape, ...fields });
const wrong = (fields: Partial<TypedTape>, unit: 'in' | 'mm' = 'in') => {
  const read = readTape(typed(fields), unit);
  if (read.ok) throw new Error('it was taken');
  return read.wrong;
};

describe('a typed tape check', () => {
  it('is the distance between two markers, or the length of a side, in the unit chosen or one of its own', () => {
    expect(readTape(typed({ from: '3', to: ' 7 ', length: '72' }), 'in')).toEqual({
      ok: true,
      tape: { from: 3, to: 7, lengthMm: 72 * 25.4, uMm: null },
    });
    expect(readTape(typed({ what: 'B', length: '1220,5' }), 'mm')).toEqual({
      ok: true,
      tape: { side: 'B', lengthMm: 1220.5, uMm: null },
    });
    expect(readTape(typed({ what: 'A', length: '1830 mm' }), 'in')).toMatchObject({ tape: { lengthMm: 1830 } });
    expect(readTape(typed({ what: 'A', length: `5' 0"` }), 'mm')).toMatchObject({ tape: { lengthMm: 1524 } });
  });

  it('may say how far the tape may be wrong, as every ± of the page does: 19 times out of 20', () => {
    expect(readTape(typed({ what: 'A', length: '1830', within: '1.96' }), 'mm')).toMatchObject({ tape: { uMm: 1 } });
    expect(readTape(typed({ what: 'A', length: '72', within: '1 mm' }), 'in')).toMatchObject({
      tape: { uMm: 1 / 1.96 },
    });
  });

  it('says at every field that is wrong what to type there', () => {
    expect(wrong({})).toEqual({
      from: 'Type the number on the sheet, 0 to 586.',
      to: 'Type the number on the sheet, 0 to 586.',
      length: 'Type a length such as 72 1/16 or 1830 mm.',
    });
    expect(wrong({ from: '587', to: '2.5', length: '900' }, 'mm')).toEqual({
      from: 'Type the number on the sheet, 0 to 586.',
      to: 'Type the number on the sheet, 0 to 586.',
    });
    expect(wrong({ from: '3', to: '03', length: '60' })).toEqual({ to: 'That is the same marker.' });
    expect(wrong({ what: 'A', length: 'six feet' }, 'mm')).toEqual({
      length: 'Type a length such as 1830 or 72 1/16 in.',
    });
    expect(wrong({ what: 'A', length: '1' })).toEqual({ length: 'It must be between 2 and 1200 in.' });
    expect(wrong({ what: 'A', length: '40000' }, 'mm')).toEqual({ length: 'It must be between 51 and 30480 mm.' });
    expect(wrong({ what: 'A', length: '72', within: 'a bit' })).toEqual({
      within: 'Type a length such as 1/16 or 1 mm, or leave it empty.',
    });
    expect(wrong({ what: 'A', length: '72', within: '0' }).within).toMatch(/or leave it empty/);
    expect(wrong({ what: 'A', length: '72', within: '8' })).toEqual({
      within: 'That is more than a tenth of the length.',
    });
  });
});
