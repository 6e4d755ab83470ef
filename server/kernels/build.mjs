// node server/kernels/build.mjs: compiles the inner loops written in AssemblyScript to WebAssembly, and writes each as a
// TypeScript file into the server. What it makes is committed, so that neither a user nor a test needs the compiler (95 MB).
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { kernelSources } from './kernel-sources.mjs';

const compiler = 'assemblyscript@0.28.20';
const kernels = {
  'rail-likeness': { target: 'server/stages/rails/rail-likeness-kernel.ts', sharesMemory: true },
  'grey-pyramid': { target: 'server/images/grey-pyramid-kernel.ts', sharesMemory: false },
  'dark-shapes': { target: 'server/stages/markers/dark-shapes-kernel.ts', sharesMemory: false },
  'slit-trail': { target: 'server/stages/joints/slit-trail-kernel.ts', sharesMemory: false },
};
/** As `sharedPages` in server/images/load-kernel.ts. */
const mostPages = 32768;
const shared = `--importMemory --sharedMemory --enable threads --maximumMemory ${mostPages}`.split(' ');

const root = fileURLToPath(new URL('../..', import.meta.url));
const work = mkdtempSync(join(tmpdir(), 'gapwright-kernels-'));
try {
  for (const [name, { target, sharesMemory }] of Object.entries(kernels)) {
    const source = join(root, `server/kernels/${name}.ts`);
    const wasm = join(work, `${name}.wasm`);
    const flags = '--runtime stub --noAssert -O3 --converge --enable simd --exportStart none --initialMemory 1'.split(
      ' ',
    );
    if (sharesMemory) flags.push(...shared);
    const { status } = spawnSync('npx', ['--yes', `--package=${compiler}`, 'asc', source, '-o', wasm, ...flags], {
      stdio: 'inherit',
      shell: process.platform === 'win32',
    });
    if (status !== 0) process.exit(1);
    const sha256 = createHash('sha256').update(kernelSources(name)).digest('hex');
    writeFileSync(
      join(root, target),
      `// Made by server/kernels/build.mjs from server/kernels/${name}.ts with ${compiler}; not to be edited.

/** Of the source that this was made from: a test compares it with the source as it is. */
export const sourceSha256 = '${sha256}';

/** A WebAssembly module. */
export const wasmBase64 =
  '${readFileSync(wasm).toString('base64')}';
`,
    );
  }
} finally {
  rmSync(work, { recursive: true });
}
