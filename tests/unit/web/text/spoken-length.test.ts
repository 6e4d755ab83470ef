import { expect, test } from 'vitest';
import { spokenEstimate } from '../../../../web/text/spoken-length.js';

const inches = { unit: 'in', denominator: 16 } as const;

test('a length is said in words, with what it may be off', () => {
  expect(spokenEstimate({ value: 52.3875, u: 0.2 }, inches)).toBe('2 and 1/16 inches, give or take 0.02');
  expect(spokenEstimate({ value: 1.5875, u: 0.2 }, inches)).toBe('1/16 inches, give or take 0.02');
  expect(spokenEstimate({ value: -1.5875, u: 0.2 }, inches)).toBe('minus 1/16 inches, give or take 0.02');
  expect(spokenEstimate({ value: 52.44, u: 0.2 }, { unit: 'mm', denominator: 16 })).toBe(
    '52.4 millimetres, give or take 0.4',
  );
});
