import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { engineOptions } from '../../../server/base/engine-options.js';

const source = fileURLToPath(new URL('../../../server/base/engine-options.ts', import.meta.url));

it('starts a process with options that this engine knows, and asks it for nothing it does not know', () => {
  const asked = [...readFileSync(source, 'utf8').matchAll(/setFlagsFromString\('([^']+)'\)/g)].map((m) => m[1]);
  expect(asked.length).toBeGreaterThan(0);
  const isEager = Number.parseInt(process.versions.v8, 10) <= 11;
  const program = `for (const a of ${JSON.stringify(isEager ? asked : [])}) require('node:v8').setFlagsFromString(a);`;
  const { status, stderr } = spawnSync(process.execPath, [...engineOptions, '-e', program], {
    encoding: 'utf8',
  });
  expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
});
