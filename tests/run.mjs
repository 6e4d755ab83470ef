// `npm test`: everything. Installs what the tests need, builds, checks, and runs every kind of test.
// The last line is 'N passed, N failed'; the exit status is 0 when nothing failed.
import { installWhenNeeded, requireNode20 } from '../server/build-when-needed.mjs';
import { runCheckSteps } from './support/check-steps.mjs';
import { installDebianPackages } from './support/debian-packages.mjs';
import { runProgram } from './support/run-program.mjs';
import { addCounts, addFailure, runTests } from './support/run-tests.mjs';

/** The kinds of tests after the unit tests, with the minutes after which each is stopped. */
const kinds = [
  ['property', 5],
  ['sources', 8],
  ['golden', 3],
  ['http', 10],
  ['commands', 5],
  ['fuzz', 5],
  ['architecture', 5],
  ['accuracy', 15],
  ['browser', 16],
];

requireNode20();
const begin = Date.now();
await installWhenNeeded();
await installDebianPackages();

console.log('\n— Build');
const build = await runProgram(process.execPath, ['server/build-all.mjs'], { minutes: 5 });
const total = await runCheckSteps();
if (build === 0) total.passed += 1;
else addFailure(total, 'Build', `It ended with status ${build}; what it said is above.`);
for (const [kind, minutes] of kinds) {
  const start = Date.now();
  console.log(`\n— ${kind} tests`);
  addCounts(total, await runTests(kind, minutes));
  console.log(`${kind}: ${Math.round((Date.now() - start) / 1000)} s`);
}

console.log(`\nWhole run: ${((Date.now() - begin) / 60_000).toFixed(1)} minutes`);
for (const failure of total.failures) console.log(`FAILED: ${failure}`);
for (const title of total.skippedTitles) console.log(`skipped: ${title}`);
if (total.skipped > 0)
  console.log(
    `${total.skipped} skipped: what each needs (a program, a file, the rights of an ordinary user) is not on this machine (tests/README.md)`,
  );
console.log(`${total.passed} passed, ${total.failed} failed`);
process.exit(total.failed === 0 ? 0 : 1);
