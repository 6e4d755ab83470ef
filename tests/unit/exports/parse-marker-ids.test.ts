import { describe, expect, it } from 'vitest';
import { parseMarkerIds } from '../../../server/exports/parse-marker-ids.js';

describe('marker ids as a person writes them', () => {
  it.each([
    ['0-5', [0, 1, 2, 3, 4, 5]],
    ['3', [3]],
    [' 7 , 0-2, 1 ', [7, 0, 1, 2]],
    ['586', [586]],
  ])('%j are %j', (text, ids) => {
    expect(parseMarkerIds(text)).toEqual({ ok: true, value: ids });
  });

  it.each(['', ',', '5-0', '587', '-3', 'a', '0-586', '1.5', '0..5', '99999'])('%j are refused', (text) => {
    const parsed = parseMarkerIds(text);
    expect(!parsed.ok && parsed.problem.code).toBe('bad-field');
  });
});
