import { describe, expect, it } from 'vitest';
import { giveBack, sharedBytes, sharedDoubles, useNoMemoryAgain } from '../../../server/images/spare-memory.js';

const megabyte = 2 ** 20;

describe('spare memory', () => {
  it('is that given back last, as far as 160 MB', () => {
    const large = sharedBytes(144 * megabyte);
    giveBack(large);
    const small = Array.from({ length: 4 }, () => sharedBytes(40 * megabyte));
    small.forEach(giveBack);
    const again = Array.from({ length: 4 }, () => sharedBytes(40 * megabyte).buffer);
    expect(new Set(again)).toEqual(new Set(small.map(({ buffer }) => buffer)));
    expect(sharedBytes(144 * megabyte).buffer).not.toBe(large.buffer);
  });

  it('is the smallest that is large enough, and less than twice what is asked for', () => {
    const [little, enough, ample] = [90, 130, 180].map(sharedDoubles);
    for (const values of [ample, little, enough]) giveBack(values);
    const taken = sharedDoubles(100);
    expect(taken.buffer).toBe(enough.buffer);
    expect(taken).toHaveLength(100);
    expect(sharedDoubles(85).buffer).toBe(little.buffer);
    expect(sharedDoubles(85).buffer).not.toBe(ample.buffer);
  });

  it('is none once a thread was lost that may still write to it', () => {
    const before = sharedBytes(1000);
    giveBack(before);
    useNoMemoryAgain();
    const after = sharedBytes(1000);
    expect(after.buffer).not.toBe(before.buffer);
    giveBack(after);
    expect(sharedBytes(1000).buffer).not.toBe(after.buffer);
  });
});
