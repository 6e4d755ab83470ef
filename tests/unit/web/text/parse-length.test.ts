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

  test.each([
    ['6 ft', 72],
    ["6'", 72],
    ['6ft', 72],
    ['1 foot', 12],
    ['6 feet 3', 75],
    [`6' 0 1/2"`, 72.5],
    [`6'-0 1/2"`, 72.5],
    ['6’ 1/2”', 72.5],
    ['6 ft 1/2 in', 72.5],
    ['6ft 3in', 75],
    ['6′ 3 1/16″', 75.0625],
    ['6 1/2 ft', 78],
    ['6.5 ft', 78],
  ])('reads %s as feet and inches, whatever the unit of the tool', (text, inches) => {
    expect(parseLength(text, 'in')).toBeCloseTo(inches * 25.4, 9);
    expect(parseLength(text, 'mm')).toBeCloseTo(inches * 25.4, 9);
  });

  test.each(['ft', "'", '6 ft 3 mm', '6 ft 3 cm', '6 ft x', 'six ft', '6 ft 3 ft', '6 ft 1/0', '6 in 3 ft', "6''"])(
    'refuses “%s”',
    (text) => {
      expect(parseLength(text, 'in')).toBeNull();
      expect(parseLength(text, 'mm')).toBeNull();
    },
  );

  test.each(['', ' ', 'x', '1/0', '3 1', '1/2/3', '--3', '3 furlongs', '-2', '1e3', 'NaN'])('refuses “%s”', (text) => {
    expect(parseLength(text, 'in')).toBeNull();
  });
});
