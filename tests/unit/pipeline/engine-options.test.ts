import { spawnSync } from 'node:child_process';
import { expect, it } from 'vitest';
import { engineOptions, patientOptions } from '../../../server/base/engine-options.js';

it('asks this engine for nothing that it does not know, when a process starts and later', () => {
  const program = `for (const option of ${JSON.stringify(patientOptions)}) require('node:v8').setFlagsFromString(option);`;
  const { status, stderr } = spawnSync(process.execPath, [...engineOptions, '-e', program], { encoding: 'utf8' });
  expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
});
