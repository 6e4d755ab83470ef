import { describe, expect, test } from 'vitest';
import { parseLength } from '../../../../web/text/parse-length.js';

describe('parseLength', () => {
  test.each([
    ['3', 76.2],
    ['3 1/16', 77.7875],
    ['3-1/16', 77.7875],
    ['1/16', 1.5875],
    ['3.5', 88.9],
    ['3,5', 88.9],
    ['3"', 76.2],
    ['3 1/2″', 88.9],
    ['3 in', 76.2],
    ['76.2 mm', 76.2],
    ['7.62cm', 76.2],
    ['  2   3/8 ', 60.325],
  ])('reads %s as inches or as what it says', (text, mm) => {
    expect(parseLength(text, 'in')).toBeCloseTo(mm, 9);
  });

  test('a bare number is in the unit of the tool', () => {
    expect(parseLength('50.8', 'mm')).toBe(50.8);
    expect(parseLength('2 in', 'mm')).toBeCloseTo(50.8, 9);
  });

  test.each(['', ' ', 'x', '1/0', '3 1', '1/2/3', '--3', '3 furlongs', '-2', '1e3', 'NaN'])('refuses “%s”', (text) => {
    expect(parseLength(text, 'in')).toBeNull();
  });
});
