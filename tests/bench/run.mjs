// `npm run bench`: the whole measurement of one photo against decoding the same JPEG, in the same run; the most memory it
// takes, for 12 and for 48 megapixels; and the same against the usual native way (python3-opencv) where that is installed.
// Every photo is measured in a process of its own, ROUNDS times (5: of the first ones much is compiling), what comes first changing
// from round to round.
// Not a test: figures depend on the machine and on what else it does, so processor time is printed beside the clock's.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { availableParallelism, cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { buildWhenNeeded, root } from '../../server/build-when-needed.mjs';

await buildWhenNeeded(['server']);
const { engineOptions } = await import('../../.build/server/base/engine-options.js');
const here = (name) => fileURLToPath(new URL(name, import.meta.url));
const rounds = Number(process.env.ROUNDS ?? 5);
const python = '/usr/bin/python3';
const hasNative = spawnSync(python, ['-c', 'import cv2; cv2.aruco.DICT_APRILTAG_36h11']).status === 0;

const median = (values) => [...values].sort((a, b) => a - b)[values.length >> 1];
const listed = (values) => values.map((v) => v.toFixed(0)).join(', ');
const line = (name, text) => console.log(`  ${name.padEnd(34)} ${text}`);
const number = (value, digits = 0) => value.toFixed(digits).padStart(7);

/** Runs a program that prints one line of JSON. */
function lastJson(command, programArguments) {
  const run = spawnSync(command, programArguments, {
    cwd: root,
    encoding: 'utf8',
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  if (run.status !== 0) throw new Error(`${command} ${programArguments[0]} ended with ${run.status}`);
  return JSON.parse(run.stdout.trim().split('\n').at(-1));
}

/** @returns the median ratio of the whole to decoding, and to the native way where it is installed */
function benchPhoto(title, path, { track, markerSideMm }, count) {
  const took = lastJson(process.execPath, [
    ...engineOptions,
    here('measure-rounds.mjs'),
    path,
    track,
    String(markerSideMm),
    String(count),
  ]);
  const decode = median(took.map((r) => r.decodeMs));
  const whole = median(took.map((r) => r.wholeMs));
  console.log(`\n${title}`);
  line('decoding with sharp', `${number(decode)} ms   (${listed(took.map((r) => r.decodeMs))})`);
  line('the whole', `${number(whole)} ms   (${listed(took.map((r) => r.wholeMs))})`);
  line(
    '  processor time of it',
    `${number(median(took.map((r) => r.cpuMs)))} ms   (${listed(took.map((r) => r.cpuMs))})`,
  );
  for (const stage of Object.keys(took[0].stages))
    line(`  ${stage}`, `${number(median(took.map((r) => r.stages[stage])))} ms`);
  line('most memory of the process', `${number(Math.max(...took.map((r) => r.mostMb)))} MB`);
  const ratio = median(took.map((r) => r.wholeMs / r.decodeMs));
  line('ratio to decoding', number(ratio, 1));
  line('  of processor times', number(median(took.map((r) => r.cpuMs / r.decodeCpuMs)), 1));
  line('  first photo of a new process', number(took[0].wholeMs / took[0].decodeMs, 1));
  if (!hasNative) return { ratio, toNative: null };
  const native = lastJson(python, [here('native-way.py'), path, String(markerSideMm), String(count)]);
  line('python3-opencv, the usual way', `${number(median(native.ms))} ms   (${listed(native.ms)})`);
  const toNative = whole / median(native.ms);
  line('ratio to it', number(toNative, 1));
  return { ratio, toNative };
}

console.log(
  `${cpus().length} × ${cpus()[0].model}, ${availableParallelism()} usable, load ${loadavg()[0].toFixed(1)}, Node ${process.version}, ${rounds} rounds, medians`,
);
const sets = JSON.parse(readFileSync(join(root, 'samples/sets.json'), 'utf8'));
const photoOf = (id) => join(root, 'samples', `${id}.jpg`);
const single = sets.filter((s) => s.photos.length === 1);
const asked = process.argv.slice(2);
const chosen = asked.length === 0 ? single : single.filter((s) => asked.includes(s.id));
if (chosen.length === 0) {
  console.error(`No sample is called ${asked.join(' or ')}. There are: ${single.map((s) => s.id).join(', ')}.`);
  process.exit(2);
}
const all = chosen.map((set) => benchPhoto(`${set.id}.jpg, 12 megapixels`, photoOf(set.id), set, rounds));

const folder = mkdtempSync(join(tmpdir(), 'gapwright-bench-'));
try {
  const set = sets.find((s) => s.id === 'green-table-oval');
  const path = join(folder, 'enlarged.jpg');
  // Focal length and all stay in the EXIF data: as 35 mm equivalent it does not change with the size.
  await sharp(photoOf(set.id)).resize({ width: 8064 }).keepExif().jpeg({ quality: 92 }).toFile(path);
  benchPhoto(`${set.id}.jpg, enlarged to 48 megapixels`, path, set, 1);
} finally {
  rmSync(folder, { recursive: true });
}

console.log(
  `\nAll photos of 12 megapixels: ratio to decoding ${number(median(all.map((a) => a.ratio)), 1)} in the middle,`,
);
console.log(`${number(Math.max(...all.map((a) => a.ratio)), 1)} at most.`);
if (hasNative) console.log(`Ratio to python3-opencv ${number(median(all.map((a) => a.toNative)), 1)} in the middle.`);
else console.log('python3-opencv is not installed: no ratio to the usual native way.');
