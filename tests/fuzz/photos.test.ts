import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import { problemText } from '../../server/contract/problems.js';
import { detectMarkers } from '../../server/stages/markers/detect-markers.js';
import { openPhoto } from '../../server/stages/photo/open-photo.js';
import { mutateBytes } from '../support/mutate-bytes.js';
import { seededRandom } from '../support/seeded-random.js';

/** A few in `npm test`; `npm run fuzz` asks for many. */
const count = Number(process.env['FUZZ'] ?? 250);
const seed = Number(process.env['SEED'] ?? 1);
/** One photo may take so long, milliseconds: these are small. */
const mostMs = 20_000;

const casesFolder = fileURLToPath(new URL('./cases', import.meta.url));
const heic = readFileSync(fileURLToPath(new URL('../support/photos/quarters.heic', import.meta.url)));
const originals: Uint8Array[] = [];
beforeAll(async () => {
  const noise = { type: 'gaussian' as const, mean: 120, sigma: 40 };
  const picture = () => sharp({ create: { width: 320, height: 240, channels: 3, background: '#a98', noise } });
  originals.push(
    await picture().jpeg({ quality: 60 }).withMetadata({ orientation: 6 }).toBuffer(),
    await picture().jpeg({ progressive: true }).toBuffer(),
    await picture().toColourspace('cmyk').jpeg().toBuffer(),
    await picture().greyscale().jpeg().toBuffer(),
    await picture().png().toBuffer(),
    await picture().png({ palette: true }).toBuffer(),
    await picture().toColourspace('rgb16').png({ progressive: true }).toBuffer(),
    await picture().webp().toBuffer(),
    await picture().webp({ lossless: true }).toBuffer(),
    heic,
  );
});

/** Opens bytes as an upload would be, and looks for markers where there is a picture. */
async function outcomeOf(bytes: Uint8Array): Promise<string> {
  const opened = await openPhoto('fuzz.jpg', bytes);
  if (!opened.ok) {
    const { sentence, nextStep } = problemText(opened.problem);
    expect(sentence).toContain('fuzz.jpg');
    expect(nextStep).not.toBe('');
    return opened.problem.code;
  }
  const { widthPx, heightPx, channels, data } = opened.value.raster;
  expect(data.length).toBe(widthPx * heightPx * channels);
  const found = await detectMarkers(opened.value, { borderModules: 1 });
  expect(found.ok && found.value.length).toBe(0);
  return 'opened';
}

describe('photos that went wrong', () => {
  it(`are opened or refused with a sentence, never more (${count} of them, seed ${seed})`, {
    timeout: 60_000 + count * 400,
  }, async () => {
    const outcomes: Record<string, number> = {};
    for (let i = 0; i < count; i++) {
      const random = seededRandom(seed * 1_000_003 + i);
      // The HEIC decoder takes a hundred times longer than the others: it gets one case in twenty.
      const usual = originals.length - 1;
      const original = random() < 0.05 ? heic : (originals[Math.floor(random() * usual)] as Uint8Array);
      const other = originals[Math.floor(random() * originals.length)] as Uint8Array;
      const bytes = mutateBytes(original, other, random);
      const start = performance.now();
      const outcome = await outcomeOf(bytes).catch((error: unknown) => {
        throw new Error(`case ${i} of seed ${seed}: ${String(error)}`, { cause: error });
      });
      expect(performance.now() - start, `time of case ${i} of seed ${seed}`).toBeLessThan(mostMs);
      outcomes[outcome] = (outcomes[outcome] ?? 0) + 1;
    }
    console.log('photos:', JSON.stringify(outcomes));
    // The mutations must reach the decoders, not only the first look at the file.
    expect(Object.keys(outcomes).length).toBeGreaterThan(2);
    expect(outcomes['opened'] ?? 0).toBeGreaterThan(count * 0.05);
  });

  const cases = readdirSync(casesFolder).filter((name) => name !== 'README.md');
  it.runIf(cases.length > 0).each(cases)(
    'found earlier, %s, is opened or refused',
    { timeout: 60_000 },
    async (name) => {
      const outcome = await outcomeOf(readFileSync(`${casesFolder}/${name}`));
      expect(outcome).not.toBe('');
    },
  );
});
