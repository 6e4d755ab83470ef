// Times each stage of measuring two sample photos, and the whole as a ratio to decoding the same JPEG, in this run.
import { readFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { buildWhenNeeded } from '../../server/build-when-needed.mjs';

await buildWhenNeeded(['server']);
const { measureTable } = await import('../../.build/server/pipeline/measure-table.js');
const { tallTrack } = await import('../../.build/server/scene/track-profile.js');
sharp.concurrency(2);
sharp.cache(false);

const rounds = 3;
const median = (values) => [...values].sort((a, b) => a - b)[values.length >> 1];
console.log(`${cpus().length} × ${cpus()[0].model}, Node ${process.version}, ${rounds} rounds, medians`);
for (const { name, side } of [
  { name: 'three-straights', side: 120 },
  { name: 'green-table-oval', side: 120 },
]) {
  const bytes = readFileSync(fileURLToPath(new URL(`../../samples/${name}.jpg`, import.meta.url)));
  const decode = [];
  const whole = [];
  const stages = new Map();
  for (let round = 0; round < rounds; round++) {
    let start = performance.now();
    await sharp(bytes).raw().toBuffer();
    decode.push(performance.now() - start);
    start = performance.now();
    let last = null;
    const close = (now) => {
      if (last) stages.set(last.stage, [...(stages.get(last.stage) ?? []), now - last.at]);
    };
    const took = await measureTable(
      [{ name: `${name}.jpg`, bytes }],
      { track: tallTrack, markerSideMm: side, tapeChecks: [], borderModules: 1 },
      {
        onProgress: ({ stage }) => {
          const now = performance.now();
          close(now);
          last = { stage, at: now };
        },
      },
    );
    close(performance.now());
    if (!took.ok) throw new Error(took.problem.code);
    whole.push(performance.now() - start);
  }
  console.log(`\n${name}.jpg`);
  console.log(
    `  decoding with sharp      ${median(decode).toFixed(0).padStart(7)} ms   (${decode.map((v) => v.toFixed(0)).join(', ')})`,
  );
  for (const [stage, values] of stages)
    console.log(
      `  ${stage.padEnd(24)} ${(values.reduce((a, b) => a + b, 0) / rounds).toFixed(0).padStart(7)} ms a round`,
    );
  console.log(
    `  the whole                ${median(whole).toFixed(0).padStart(7)} ms   (${whole.map((v) => v.toFixed(0)).join(', ')})`,
  );
  console.log(`  ratio to decoding        ${(median(whole) / median(decode)).toFixed(1).padStart(7)}`);
}
