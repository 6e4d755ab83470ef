import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { photoName } from '../../../server/projects/photo-name.js';

describe('the shown name of a photo', () => {
  it('is short, holds no folder and no control character, and differs from all others, whatever the device sends', () => {
    const anyName = fc.oneof(
      fc.string({ unit: 'binary', maxLength: 400 }),
      fc.constantFrom('..', '.', '/', '\\', 'a.jpg', ''),
    );
    fc.assert(
      fc.property(anyName, fc.array(anyName, { maxLength: 12 }), (given, others) => {
        const taken: string[] = [];
        for (const other of others) taken.push(photoName(other, taken));
        const name = photoName(given, taken);
        expect(taken).not.toContain(name);
        expect([...name].length).toBeLessThanOrEqual(90);
        expect(name).not.toBe('');
        // biome-ignore lint/suspicious/noControlCharactersInRegex: the test is about them
        expect(name).not.toMatch(/[/\\\u0000-\u001f\u202a-\u202e]/);
      }),
    );
  });
});
