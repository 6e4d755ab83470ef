import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { root, runProgram } from './run-program.mjs';

/**
 * @typedef {{ passed: number, failed: number, skipped: number, skippedTitles: string[] }} Counts
 */

/** @returns {Counts} */
export function noCounts() {
  return { passed: 0, failed: 0, skipped: 0, skippedTitles: [] };
}

/**
 * @param {Counts} total
 * @param {Counts} more
 */
export function addCounts(total, more) {
  total.passed += more.passed;
  total.failed += more.failed;
  total.skipped += more.skipped;
  total.skippedTitles.push(...more.skippedTitles);
}

/**
 * Runs one kind of test and counts. A test file that could not even be loaded counts as one failure, and so does a run
 * that ended badly without any failed test (an error between the tests), or that left no result.
 * @param {string} project name of the kind in tests/vitest.config.ts
 * @param {number} minutes
 * @returns {Promise<Counts>}
 */
export async function runTests(project, minutes) {
  const output = join(root, '.test-output', `${project}.json`);
  mkdirSync(join(root, '.test-output'), { recursive: true });
  rmSync(output, { force: true });
  const status = await runProgram(
    process.execPath,
    [
      'node_modules/vitest/vitest.mjs',
      'run',
      '--config=tests/vitest.config.ts',
      `--project=${project}`,
      '--passWithNoTests',
      '--reporter=default',
      '--reporter=json',
      `--outputFile.json=${output}`,
    ],
    { minutes },
  );
  const counts = existsSync(output) ? countResults(JSON.parse(readFileSync(output, 'utf8'))) : noCounts();
  if (status !== 0 && counts.failed === 0) counts.failed = 1;
  return counts;
}

/**
 * @param {{ testResults: { name: string, status: string, assertionResults: { status: string, fullName: string }[] }[] }} results
 * @returns {Counts}
 */
function countResults(results) {
  const counts = noCounts();
  for (const file of results.testResults) {
    const states = file.assertionResults.map((test) => test.status);
    const failed = states.filter((s) => s === 'failed').length;
    counts.passed += states.filter((s) => s === 'passed').length;
    counts.failed += file.status === 'failed' && failed === 0 ? 1 : failed;
    for (const test of file.assertionResults) {
      if (test.status === 'passed' || test.status === 'failed') continue;
      counts.skipped += 1;
      counts.skippedTitles.push(test.fullName);
    }
  }
  return counts;
}
