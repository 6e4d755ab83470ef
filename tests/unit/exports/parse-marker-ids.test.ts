import { describe, expect, it } from 'vitest';
import { parseMarkerIds } from '../../../server/exports/parse-marker-ids.js';

describe('marker ids as people write them', () => {
  it('takes numbers and ranges, each id once and in order', () => {
    expect(parseMarkerIds('0-5')).toEqual({ ok: true, value: [0, 1, 2, 3, 4, 5] });
    expect(parseMarkerIds(' 7, 3-4 ,4,586')).toEqual({ ok: true, value: [7, 3, 4, 586] });
  });

  it.each(['', 'a', '5-2', '587', '1-', '-3', '1.5', '0-586'])('refuses “%s” with a reason', (text) => {
    const result = parseMarkerIds(text);
    expect(result.ok).toBe(false);
    if (!result.ok) expect(result.problem).toMatchObject({ code: 'bad-field', data: { field: 'ids' } });
  });
});
