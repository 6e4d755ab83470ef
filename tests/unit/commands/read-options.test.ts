import { describe, expect, it } from 'vitest';
import { readChoice, readNumber, readOptions } from '../../../server/commands/read-options.js';

const kinds = { side: 'one', tape: 'many', out: 'one', square: 'flag' } as const;

function read(...words: string[]) {
  const input = readOptions(words, kinds);
  if (!input.ok) throw new Error(input.problem.code);
  return input.value;
}

describe('the words of a command', () => {
  it('are files and options in any order, with a space or an equals sign', () => {
    const input = read('a.jpg', '--side', '150', 'b.jpg', '--out=r.json', '--tape', '3-7=10', '--tape=1-2=20');
    expect(input.files).toEqual(['a.jpg', 'b.jpg']);
    expect([input.one('side'), input.one('out'), input.many('tape')]).toEqual(['150', 'r.json', ['3-7=10', '1-2=20']]);
  });

  it('may be options that take no value', () => {
    const input = read('--square', 'a.jpg');
    expect([input.flag('square'), input.files]).toEqual([true, ['a.jpg']]);
    expect(read('a.jpg').flag('square')).toBe(false);
  });

  it('after two hyphens are files, so that a photo may be called anything', () => {
    expect(read('--', '--side').files).toEqual(['--side']);
  });

  it.each([
    [['a.jpg', '--sides', '3'], 'unknown-option', { option: '--sides' }],
    [['-x'], 'unknown-option', { option: '-x' }],
    [['a.jpg', '--side'], 'missing-argument', { what: 'a value after --side' }],
    [['a.jpg', '--square=yes'], 'bad-field', { field: '--square', why: 'it takes no value' }],
  ])('%j are refused with %s', (words, code, data) => {
    expect(readOptions(words, kinds)).toEqual({ ok: false, problem: { code, data } });
  });

  it.each(['', ' ', 'wide', '12mm', 'NaN', '-1', '1001', 'Infinity'])('are no number when they say %j', (text) => {
    const number = readNumber(read(`--side=${text}`), 'side', 120, [10, 1000]);
    expect(!number.ok && number.problem.code).toBe('bad-field');
  });

  it('are a number within the range, or the stated one when missing', () => {
    expect(readNumber(read('--side=150.5'), 'side', 120, [10, 1000])).toEqual({ ok: true, value: 150.5 });
    expect(readNumber(read(), 'side', 120, [10, 1000])).toEqual({ ok: true, value: 120 });
  });

  it('are one of the choices, the first of them when missing', () => {
    expect(readChoice(read(), 'out', ['letter', 'a4'])).toEqual({ ok: true, value: 'letter' });
    const wrong = readChoice(read('--out', 'a5'), 'out', ['letter', 'a4']);
    expect(!wrong.ok && wrong.problem.data).toEqual({ field: '--out', why: '“a5” is not one of letter, a4' });
  });
});
