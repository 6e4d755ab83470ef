import { describe, expect, it } from 'vitest';
import { PairingCode } from '../../../server/http/pairing-code.js';

function codeAtClock() {
  let now = 1_000_000;
  return { code: new PairingCode(() => now), wait: (ms: number) => (now += ms) };
}

const other = (digits: string): string => String((Number(digits) + 1) % 1_000_000).padStart(6, '0');

describe('the pairing code', () => {
  it('is six digits and lets in once, with or without a space between', () => {
    const { code } = codeAtClock();
    const { code: first } = code.current();
    expect(first).toMatch(/^\d{6}$/);
    expect(code.try(`${first.slice(0, 3)} ${first.slice(3)}`)).toBe('paired');
    expect(code.try(first)).toBe('wrong-code');
  });

  it('is another one after ten minutes', () => {
    const { code, wait } = codeAtClock();
    const { code: first, until } = code.current();
    wait(9 * 60_000);
    expect(code.current()).toEqual({ code: first, until });
    wait(60_000);
    expect(code.try(first)).toBe('wrong-code');
  });

  it('cannot be guessed: after eight wrong ones it is replaced and nothing is taken for a minute', () => {
    const { code, wait } = codeAtClock();
    const { code: first } = code.current();
    for (let i = 0; i < 8; i++) expect(code.try(other(first))).toBe('wrong-code');
    expect(code.try(first)).toBe('wait');
    expect(code.try(code.current().code)).toBe('wait');
    wait(60_001);
    expect(code.try(first)).toBe('wrong-code');
    expect(code.try(code.current().code)).toBe('paired');
  });

  it.each(['', '12345', '1234567', 'abcdef', '١٢٣٤٥٦', '000000\u0000'])('is not %j', (given) => {
    const { code } = codeAtClock();
    if (code.current().code !== '000000') expect(code.try(given)).toBe('wrong-code');
  });
});
