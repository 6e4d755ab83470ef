// `npm run load`: four devices send five photos each at once (one sample photo of 12 megapixels, five times) and have
// their tables measured, while a fifth asks for small things all the time. Prints how long small requests take, the order
// of the work, and the memory of the server's processes. Not a test: figures depend on the machine, which is printed too.
// WIDTH=2016 sends smaller photos.
import { spawn } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { buildWhenNeeded, root } from '../../server/build-when-needed.mjs';

await buildWhenNeeded(['server', 'web']);
const home = mkdtempSync(join(tmpdir(), 'gapwright-load-'));
const server = spawn(process.execPath, ['server/start.mjs', '--no-open'], {
  cwd: root,
  env: { ...process.env, PORT: '0', GAPWRIGHT_HOME: home },
  stdio: ['ignore', 'pipe', 'inherit'],
});
const address = await new Promise((resolve) => {
  server.stdout.on('data', (chunk) => {
    const found = /http:\/\/\S+/.exec(String(chunk));
    if (found) resolve(found[0]);
  });
});

const ask = async (method, path, body) => {
  const answer = await fetch(`${address}api/${path}`, { method, body });
  if (!answer.ok) throw new Error(`${method} ${path}: ${answer.status} ${await answer.text()}`);
  return answer.json();
};

/** Memory of the server and of its work processes, MB each (Linux). */
function memoryMb() {
  if (process.platform !== 'linux') return { server: 0, work: [] };
  const parent = (id) => Number(readFileSync(`/proc/${id}/stat`, 'utf8').split(') ')[1].split(' ')[1]);
  const residentMb = (id) => {
    try {
      return Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${id}/status`, 'utf8'))?.[1] ?? 0) / 1024;
    } catch {
      return 0;
    }
  };
  const children = readdirSync('/proc').filter((id) => {
    try {
      return /^\d+$/.test(id) && parent(id) === server.pid;
    } catch {
      return false;
    }
  });
  return { server: residentMb(server.pid), work: children.map(residentMb) };
}

const widthPx = Number(process.env.WIDTH ?? 0);
async function photoOf(sample) {
  const original = readFileSync(join(root, 'samples', `${sample}.jpg`));
  return widthPx > 0 ? sharp(original).resize(widthPx).keepMetadata().jpeg().toBuffer() : original;
}
const begin = performance.now();
const since = () => ((performance.now() - begin) / 1000).toFixed(1);
const asked = [];
const done = [];
async function device([name, { sample, markerSideMm }]) {
  const photo = await photoOf(sample);
  const table = await ask('POST', 'tables', JSON.stringify({ name }));
  const sent = Array.from({ length: 5 }, (_, i) =>
    ask('PUT', `tables/${table.id}/photos/photo-000${i}?name=${name}-${i}.jpg`, photo),
  );
  await Promise.all(sent);
  console.log(`${since()} s: ${name} has sent its photos`);
  const { version } = (await ask('GET', `tables/${table.id}`)).table;
  await ask('PATCH', `tables/${table.id}`, JSON.stringify({ version, settings: { markerSideMm } }));
  await ask('POST', `tables/${table.id}/measure`);
  asked.push(name);
  for (;;) {
    const { work } = await ask('GET', `tables/${table.id}`);
    if (work.status !== 'queued' && work.status !== 'running') {
      done.push(`${name} ${work.status}${work.problem ? ` (${work.problem.code})` : ''}`);
      console.log(`${since()} s: ${done.at(-1)}`);
      return;
    }
    await new Promise((resume) => setTimeout(resume, 500));
  }
}

/** What the fifth device does all the time: it lists the tables, opens one, changes it, fetches the page. */
async function smallRequests() {
  let own = await ask('POST', 'tables', JSON.stringify({ name: 'looking on' }));
  const kinds = {
    list: () => ask('GET', 'tables'),
    open: () => ask('GET', `tables/${own.id}`),
    change: async () => {
      own = await ask(
        'PATCH',
        `tables/${own.id}`,
        JSON.stringify({ version: own.version, name: `looking ${since()}` }),
      );
    },
    page: async () => (await fetch(address)).text(),
  };
  while (!over) {
    for (const [kind, request] of Object.entries(kinds)) {
      const start = performance.now();
      await request();
      times[kind].push(performance.now() - start);
      const { server: serverMb, work } = memoryMb();
      most.server = Math.max(most.server, serverMb);
      most.one = Math.max(most.one, ...work);
      most.all = Math.max(
        most.all,
        work.reduce((sum, mb) => sum + mb, serverMb),
      );
      await new Promise((resume) => setTimeout(resume, 50));
    }
  }
}

const times = { list: [], open: [], change: [], page: [] };
const most = { server: 0, one: 0, all: 0 };
let over = false;
const asking = smallRequests();
const devices = {
  phone: { sample: 'three-straights', markerSideMm: 120 },
  tablet: { sample: 'birch-oval', markerSideMm: 150 },
  laptop: { sample: 'green-table-oval', markerSideMm: 120 },
  desk: { sample: 'window-side-oval', markerSideMm: 120 },
};
await Promise.all(Object.entries(devices).map(device));
over = true;
await asking;

console.log(`asked: ${asked.join(', ')}; done: ${done.join(', ')}`);

function line(name, list) {
  const sorted = [...list].sort((a, b) => a - b);
  const at = (share) => `${sorted[Math.floor(share * (sorted.length - 1))].toFixed(1)} ms`;
  console.log(`${name.padEnd(8)} ${list.length} requests, p50 ${at(0.5)}, p95 ${at(0.95)}, longest ${at(1)}`);
}
for (const [kind, list] of Object.entries(times)) line(kind, list);
line('all', Object.values(times).flat());
const mb = (value) => `${value.toFixed(0)} MB`;
console.log(`most memory: server ${mb(most.server)}, one work process ${mb(most.one)}, all together ${mb(most.all)}`);
console.log(`${cpus().length} × ${cpus()[0]?.model}, Node ${process.versions.node}, load ${loadavg()[0]?.toFixed(1)}`);
server.kill('SIGTERM');
await new Promise((resolve) => server.once('exit', resolve));
rmSync(home, { recursive: true, force: true });
