// node measure-rounds.mjs PHOTO TRACK MARKER-SIDE ROUNDS: decodes and measures one photo so many times, and prints what
// each took as one line of JSON. Started by run.mjs in a process of its own, with what the server's work process gets.
import { readFileSync } from 'node:fs';
import { basename } from 'node:path';

const { measureTable } = await import('../../.build/server/pipeline/measure-table.js');
const { parseTrackProfile } = await import('../../.build/server/scene/parse-track-profile.js');
const { pictureCodec } = await import('../../.build/server/images/sharp-codec.js');

const [path, track, side, rounds] = process.argv.slice(2);
const bytes = readFileSync(path);
const profile = parseTrackProfile(track);
if (!profile.ok) throw new Error(profile.problem.code);
const options = { track: profile.value, markerSideMm: Number(side), tapeChecks: [], borderModules: 1 };

/** Clock and processor time of some work, milliseconds. */
async function timed(work) {
  const [start, before] = [performance.now(), process.cpuUsage()];
  const result = await work();
  const { user, system } = process.cpuUsage(before);
  return { ms: performance.now() - start, cpuMs: (user + system) / 1000, result };
}

const decode = () =>
  timed(() =>
    pictureCodec(bytes)
      .raw()
      .toBuffer()
      .then(() => null),
  );

async function measure() {
  const stages = {};
  let last = null;
  const close = () => {
    if (last) stages[last.stage] = (stages[last.stage] ?? 0) + performance.now() - last.at;
  };
  const onProgress = ({ stage }) => {
    close();
    last = { stage, at: performance.now() };
  };
  const whole = await timed(() => measureTable([{ name: basename(path), bytes }], options, { onProgress }));
  close();
  if (!whole.result.ok) throw new Error(whole.result.problem.code);
  return { wholeMs: whole.ms, cpuMs: whole.cpuMs, stages };
}

const took = [];
for (let round = 0; round < Number(rounds); round++) {
  const first = round % 2 === 0 ? await decode() : null;
  const whole = await measure();
  const decoded = first ?? (await decode());
  const mostMb = process.resourceUsage().maxRSS / 1024;
  took.push({ ...whole, decodeMs: decoded.ms, decodeCpuMs: decoded.cpuMs, mostMb });
}
console.log(JSON.stringify(took));
