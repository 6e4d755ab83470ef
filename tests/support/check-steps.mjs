import { join } from 'node:path';
import { root, runProgram } from './run-program.mjs';
import { addCounts, addFailure, noCounts, runTests } from './run-tests.mjs';

const tool = (path) => join(root, 'node_modules', path);
const tsc = tool('typescript/bin/tsc');
const biome = tool('@biomejs/biome/bin/biome');

/** What `npm run check` looks at, in the order of how fast it answers. */
const steps = [
  { title: 'Sources are formatted', command: [biome, 'format'] },
  { title: 'Lint finds nothing', command: [biome, 'lint', '--error-on-warnings'] },
  {
    title: 'The server compiles, without the DOM',
    command: [tsc, '-p', 'server/tsconfig.json', '--noEmit', '--incremental', 'false'],
  },
  { title: 'The page compiles, without Node', command: [tsc, '-p', 'web/tsconfig.json'] },
  { title: 'The tests compile', command: [tsc, '-p', 'tests/tsconfig.json'] },
  { title: 'Imports keep the rules', command: ['tests/architecture/check-imports.mjs'] },
];

/**
 * Runs every step, also after one has failed, and then the unit tests.
 * @returns {Promise<import('./run-tests.mjs').Counts>} a step counts as one test
 */
export async function runCheckSteps() {
  const total = noCounts();
  for (const { title, command } of steps) {
    console.log(`\n— ${title}`);
    const status = await runProgram(process.execPath, command, { minutes: 5 });
    if (status === 0) total.passed += 1;
    else addFailure(total, title, `It ended with status ${status}; what it said is above.`);
  }
  console.log('\n— Unit tests');
  addCounts(total, await runTests('unit', 5));
  return total;
}
