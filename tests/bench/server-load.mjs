// `npm run load`: four devices send five photos each at once and have their tables measured, while a fifth asks for small
// things all the time. Prints how long small requests take, the order of the work, and the memory of the server's
// processes. Not a test: figures depend on the machine, which is printed too. WIDTH=2016 sends smaller photos.
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

/** Memory of the server and its work processes, MB (Linux). */
function memoryMb() {
  if (process.platform !== 'linux') return 0;
  const parent = (id) => Number(readFileSync(`/proc/${id}/stat`, 'utf8').split(') ')[1].split(' ')[1]);
  const ids = readdirSync('/proc').filter((id) => {
    try {
      return /^\d+$/.test(id) && (Number(id) === server.pid || parent(id) === server.pid);
    } catch {
      return false;
    }
  });
  return ids.reduce((sum, id) => {
    try {
      return sum + Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${id}/status`, 'utf8'))?.[1] ?? 0) / 1024;
    } catch {
      return sum;
    }
  }, 0);
}

const original = readFileSync(join(root, 'samples/three-straights.jpg'));
const widthPx = Number(process.env.WIDTH ?? 0);
const photo = widthPx > 0 ? await sharp(original).resize(widthPx).keepMetadata().jpeg().toBuffer() : original;
const begin = performance.now();
const since = () => ((performance.now() - begin) / 1000).toFixed(1);
const done = [];
async function device(name) {
  const table = await ask('POST', 'tables', JSON.stringify({ name }));
  const sent = Array.from({ length: 5 }, (_, i) =>
    ask('PUT', `tables/${table.id}/photos/photo-000${i}?name=${name}-${i}.jpg`, photo),
  );
  await Promise.all(sent);
  console.log(`${since()} s: ${name} has sent its photos`);
  await ask('POST', `tables/${table.id}/measure`);
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

const times = [];
let most = 0;
let over = false;
async function smallRequests() {
  while (!over) {
    const start = performance.now();
    await ask('GET', 'tables');
    times.push(performance.now() - start);
    most = Math.max(most, memoryMb());
    await new Promise((resume) => setTimeout(resume, 50));
  }
}

const asking = smallRequests();
await Promise.all(['phone', 'tablet', 'laptop', 'desk'].map(device));
over = true;
await asking;
times.sort((a, b) => a - b);
const at = (share) => times[Math.floor(share * (times.length - 1))].toFixed(1);
console.log(`small requests: ${times.length}, p50 ${at(0.5)} ms, p95 ${at(0.95)} ms, longest ${at(1)} ms`);
console.log(`greatest memory of all processes together: ${most.toFixed(0)} MB`);
console.log(`${cpus().length} × ${cpus()[0]?.model}, Node ${process.versions.node}, load ${loadavg()[0]?.toFixed(1)}`);
server.kill('SIGTERM');
rmSync(home, { recursive: true, force: true });
