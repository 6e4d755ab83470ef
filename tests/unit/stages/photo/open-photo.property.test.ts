import { readFile } from 'node:fs/promises';
import fc from 'fast-check';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { openPhoto } from '../../../../server/stages/photo/open-photo.js';

describe('openPhoto on damaged files', () => {
  it('answers with a picture or a problem and never throws, whatever bytes were changed or lost', async () => {
    const noise = Uint8Array.from({ length: 200 * 180 * 3 }, (_, i) => (i * 2654435761) >>> 24);
    const raw = sharp(noise, { raw: { width: 200, height: 180, channels: 3 } });
    const files = [
      await raw.clone().jpeg({ quality: 60 }).toBuffer(),
      await raw.clone().png().toBuffer(),
      await raw.clone().webp().toBuffer(),
      await readFile(new URL('../../../support/photos/quarters-both-6.heic', import.meta.url)),
    ];
    const edits = fc.array(fc.tuple(fc.double({ min: 0, max: 1, noNaN: true }), fc.integer({ min: 0, max: 255 })), {
      maxLength: 6,
    });
    await fc.assert(
      fc.asyncProperty(
        fc.nat(3),
        edits,
        fc.double({ min: 0.05, max: 1, noNaN: true }),
        async (which, changes, keep) => {
          const bytes = Buffer.from(files[which]);
          // Squaring puts most changes near the start, where the headers are.
          for (const [where, value] of changes) bytes[Math.floor(where ** 2 * (bytes.length - 1))] = value;
          const result = await openPhoto('photo', bytes.subarray(0, Math.ceil(keep * bytes.length)));
          if (result.ok) {
            const { widthPx, heightPx, data } = result.value.raster;
            expect(data.length).toBe(widthPx * heightPx * 3);
          } else expect(result.problem.code).toMatch(/^(not-a-photo|photo-damaged|photo-too-small|photo-too-large)$/);
        },
      ),
      { numRuns: 60 },
    );
  }, 30_000);
});
