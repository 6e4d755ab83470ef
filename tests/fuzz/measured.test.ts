import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { problemText } from '../../server/contract/problems.js';
import { reportSchema } from '../../server/contract/report.js';
import { type MeasureOptions, measureTable } from '../../server/pipeline/measure-table.js';
import { tallTrack } from '../../server/scene/track-profile.js';
import { seededRandom } from '../support/seeded-random.js';
import { spoilPhoto } from '../support/spoil-photo.js';

/** A whole measurement takes seconds: a hundredth of the cases that the other kinds get. */
const count = Math.ceil(Number(process.env['FUZZ'] ?? 250) / 100);
const seed = Number(process.env['SEED'] ?? 1);
/** One measurement of photos so small may take so long, milliseconds, on a machine that does other things too. */
const mostMs = 120_000;

const sample = (name: string): Buffer =>
  readFileSync(fileURLToPath(new URL(`../../samples/${name}.jpg`, import.meta.url)));
const samples = ['three-straights', 'birch-oval', 'pine-table-tight-loop', 'two-loops-whole'].map(sample);

async function outcomeOf(random: () => number): Promise<string> {
  const pick = (many: number): number => Math.floor(random() * many);
  const original = samples[pick(samples.length)] as Buffer;
  const tile = await sharp(samples[pick(samples.length)]).resize(200).toBuffer();
  const files: { name: string; bytes: Uint8Array }[] = [];
  for (let i = 0; i < 1 + pick(2); i++)
    files.push({ name: `fuzz ${i}.jpg`, bytes: await spoilPhoto(original, tile, random) });
  const options: MeasureOptions = {
    track: tallTrack,
    markerSideMm: [120, 150, 10, 300][pick(4)] ?? 120,
    tapeChecks: pick(3) === 0 ? [{ from: 3, to: pick(9), lengthMm: 1 + pick(5000), uMm: null }] : [],
    squareCorners: pick(2) === 0,
    borderModules: 1,
  };
  const measured = await measureTable(files, options, {});
  if (!measured.ok) {
    const { sentence, nextStep } = problemText(measured.problem);
    expect([sentence === '', nextStep === '']).toEqual([false, false]);
    return measured.problem.code;
  }
  // What JSON cannot hold, such as NaN, becomes null in it, and then has not the form of a report.
  const back = reportSchema.safeParse(JSON.parse(JSON.stringify(measured.value.report)));
  expect(back.error?.issues).toBeUndefined();
  return 'measured';
}

describe('photos that cannot be right', () => {
  it(`are measured or refused with a sentence (${count} measurements, seed ${seed})`, {
    timeout: 120_000 + count * 30_000,
  }, async () => {
    const outcomes: Record<string, number> = {};
    for (let i = 0; i < count; i++) {
      const start = performance.now();
      const outcome = await outcomeOf(seededRandom(seed * 9_000_011 + i)).catch((error: unknown) => {
        throw new Error(`measurement ${i} of seed ${seed}: ${String(error)}`, { cause: error });
      });
      expect(performance.now() - start, `time of measurement ${i} of seed ${seed}`).toBeLessThan(mostMs);
      outcomes[outcome] = (outcomes[outcome] ?? 0) + 1;
    }
    console.log('measurements:', JSON.stringify(outcomes));
    // The cases must reach the measuring itself, not only the search for markers.
    expect(outcomes['no-marker'] ?? 0).toBeLessThan(count);
  });
});
