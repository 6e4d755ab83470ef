// Brings node_modules and .build up to date. Plain JavaScript without dependencies: it runs before anything is installed.
// Everything it says and everything that npm, tsc and vite say goes to standard error: standard output belongs to reports.
import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { dirname, join, relative, sep } from 'node:path';
import { fileURLToPath } from 'node:url';

/** The project's folder. */
export const root = dirname(dirname(fileURLToPath(import.meta.url)));

/** What is built, from which folders, by which program, and the file that must be there afterwards. */
const parts = {
  server: {
    sources: ['server', 'tsconfig.json', 'package-lock.json'],
    ending: /\.ts$|tsconfig\.json$|package-lock\.json$/,
    command: () => [join(root, 'node_modules/typescript/bin/tsc'), '-p', 'server/tsconfig.json'],
    result: '.build/server/cli.js',
    memory: '.build/server.tsbuildinfo',
  },
  web: {
    sources: [
      'web',
      'server/contract',
      'server/units',
      'server/geometry',
      'server/base',
      'tsconfig.json',
      'package-lock.json',
    ],
    ending: /./,
    command: () => [join(root, 'node_modules/vite/bin/vite.js'), 'build', '--config', 'web/vite.config.ts'],
    result: '.build/web/index.html',
  },
};

const say = (text) => process.stderr.write(`${text}\n`);

/** Ends the program with a sentence when Node.js is too old to go on. */
export function requireNode20() {
  const major = Number(process.versions.node.split('.')[0]);
  if (major >= 20) return;
  say(
    `Gapwright needs Node.js 20 or newer; this is ${process.versions.node}. Install a newer one from your system or nodejs.org.`,
  );
  process.exit(1);
}

/** Runs a program with its output on standard error; it is stopped when this process is told to stop. */
function run(command, commandArguments, options = {}) {
  return new Promise((done) => {
    const child = spawn(command, commandArguments, { cwd: root, stdio: ['ignore', 2, 2], ...options });
    const stop = (signal) => {
      child.kill(signal);
      process.exit(1);
    };
    const signals = ['SIGINT', 'SIGTERM', 'SIGHUP'];
    for (const signal of signals) process.once(signal, stop);
    const finish = (status) => {
      for (const signal of signals) process.removeListener(signal, stop);
      done(status);
    };
    child.on('error', (error) => {
      say(error.message);
      finish(1);
    });
    child.on('close', (status) => finish(status ?? 1));
  });
}

/** True when every package of the lock file that this machine needs is in node_modules with the same version. */
export function isInstalled() {
  const lockFile = join(root, 'package-lock.json');
  const installedFile = join(root, 'node_modules/.package-lock.json');
  if (!existsSync(installedFile)) return false;
  const wanted = JSON.parse(readFileSync(lockFile, 'utf8')).packages;
  const installed = JSON.parse(readFileSync(installedFile, 'utf8')).packages;
  return Object.entries(wanted).every(
    ([name, entry]) => name === '' || entry.optional || entry.peer || installed[name]?.version === entry.version,
  );
}

/** Runs `npm ci` when packages are missing or of another version. Ends the program when that fails. */
export async function installWhenNeeded() {
  if (isInstalled()) return;
  say('Installing the packages that Gapwright needs (once; a minute or two) …');
  const npm = process.platform === 'win32' ? 'npm.cmd' : 'npm';
  const status = await run(npm, ['ci', '--include=dev', '--no-audit', '--no-fund', '--loglevel=error'], {
    shell: process.platform === 'win32',
  });
  if (status === 0) return;
  say('The packages could not be installed. Check the connection to the internet, then run the same command again.');
  process.exit(1);
}

function listFiles(path, ending, found) {
  const full = join(root, path);
  if (!existsSync(full)) return found;
  const status = statSync(full);
  if (status.isDirectory()) {
    for (const name of readdirSync(full).sort()) {
      if (name !== 'node_modules' && !name.startsWith('.')) listFiles(join(path, name), ending, found);
    }
  } else if (ending.test(path)) {
    found.push([relative(root, full).split(sep).join('/'), `${status.size} ${status.mtimeMs}`]);
  }
  return found;
}

/** What the sources look like now: their names, sizes and times. */
function sourceState(part) {
  const files = part.sources.flatMap((path) => listFiles(path, part.ending, []));
  return createHash('sha256').update(files.flat().join('\n')).digest('hex');
}

/** Removes what was built from sources that are gone: tsc never does. */
function removeOrphans(folder) {
  for (const name of readdirSync(join(root, folder), { recursive: true }).map(String)) {
    if (!/\.js(\.map)?$/.test(name)) continue;
    const source = join(root, 'server', name.replace(/\.js(\.map)?$/, '.ts'));
    if (!existsSync(source)) rmSync(join(root, folder, name), { force: true });
  }
}

function readStamp(name) {
  try {
    return readFileSync(join(root, `.build/${name}.stamp`), 'utf8');
  } catch {
    return '';
  }
}

/** A build with faults counts as fresh where it may be used at all: building again would find the same faults. */
function isFresh(name, strictly) {
  const [built, faults] = readStamp(name).split(' ');
  return built === sourceState(parts[name]) && existsSync(join(root, parts[name].result)) && !(strictly && faults);
}

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

function isAlive(processId) {
  try {
    process.kill(processId, 0);
    return true;
  } catch (error) {
    return error.code === 'EPERM';
  }
}

/** Only one process builds at a time; the others wait for it. The lock of a process that is gone is taken over. */
async function withBuildLock(work) {
  const lock = join(root, '.build/building');
  mkdirSync(join(root, '.build'), { recursive: true });
  for (;;) {
    try {
      writeFileSync(lock, String(process.pid), { flag: 'wx' });
      break;
    } catch (error) {
      if (error.code !== 'EEXIST') throw error;
      const holder = Number(readIfThere(lock));
      if (holder > 0 && !isAlive(holder)) rmSync(lock, { force: true });
      else await pause(100);
    }
  }
  try {
    return await work();
  } finally {
    rmSync(lock, { force: true });
  }
}

function readIfThere(file) {
  try {
    return readFileSync(file, 'utf8');
  } catch {
    return '';
  }
}

async function build(name, strictly) {
  const part = parts[name];
  const before = sourceState(part);
  // tsc leaves out what it believes to be there already, so its memory goes where its output is gone.
  if (part.memory && !existsSync(join(root, part.result))) rmSync(join(root, part.memory), { force: true });
  say(name === 'server' ? 'Building the program …' : 'Building the page …');
  const status = await run(process.execPath, part.command());
  if (name === 'server') removeOrphans('.build/server');
  if (status !== 0 && (strictly || !existsSync(join(root, part.result)))) return false;
  if (status !== 0) say('The build reported errors; going on with what was built.');
  writeFileSync(join(root, `.build/${name}.stamp`), status === 0 ? before : `${before} faults`);
  return true;
}

/**
 * Builds the named parts ('server', 'web') when a source differs from the last build. When the compiler finds faults but
 * leaves a program, that program is used: a slip in one file must not keep a contributor from trying the rest.
 * @returns whether there is something to run afterwards
 */
export async function buildWhenNeeded(names) {
  if (names.every((name) => isFresh(name, false))) return true;
  await installWhenNeeded();
  return withBuildLock(() => buildParts(names, false));
}

/** The same, but any fault that the compiler finds counts. @returns whether all was built without one */
export function buildStrictly(names) {
  return withBuildLock(() => buildParts(names, true));
}

async function buildParts(names, strictly) {
  for (const name of names) if (!isFresh(name, strictly) && !(await build(name, strictly))) return false;
  return true;
}
