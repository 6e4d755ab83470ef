#!/usr/bin/env node
import { join } from 'node:path';
// The command `gapwright`: builds the program when a source has changed, then runs it in this same process, so that
// nothing is left running when the caller is stopped.
import { pathToFileURL } from 'node:url';
import { buildWhenNeeded, requireNode20, root } from './build-when-needed.mjs';
import { endWithCaller } from './end-with-caller.mjs';

requireNode20();
endWithCaller();
if (!(await buildWhenNeeded(['server']))) {
  process.stderr.write('The program could not be built; the lines above say why.\n');
  process.exit(1);
}
const { runCommandLine } = await import(pathToFileURL(join(root, '.build/server/cli.js')).href);
await runCommandLine(process.argv.slice(2));
