import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs';
import { join, relative } from 'node:path';
import { root, runProgram } from './run-program.mjs';

/** Of why a test failed, so much is said again at the end of the run. */
const mostLines = 12;

/**
 * @typedef {{ passed: number, failed: number, skipped: number, skippedTitles: string[], failures: string[] }} Counts
 * failures: what failed, each with the first lines of why
 */

/** @returns {Counts} */
export function noCounts() {
  return { passed: 0, failed: 0, skipped: 0, skippedTitles: [], failures: [] };
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
  total.failures.push(...more.failures);
}

/**
 * Counts one more that failed.
 * @param {Counts} counts
 * @param {string} title
 * @param {string} why
 */
export function addFailure(counts, title, why) {
  const lines = why.split('\n').filter((line) => line.trim() !== '');
  counts.failed += 1;
  counts.failures.push([title, ...lines.slice(0, mostLines)].join('\n    '));
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
  if (status !== 0 && counts.failed === 0)
    addFailure(counts, `${project} tests`, `They ended with status ${status} and without a failed test.`);
  return counts;
}

/**
 * @typedef {{ status: string, fullName: string, failureMessages: string[] }} TestResult
 * @param {{ testResults: { name: string, status: string, message: string, assertionResults: TestResult[] }[] }} results
 * @returns {Counts}
 */
function countResults(results) {
  const counts = noCounts();
  for (const { name, status, message, assertionResults } of results.testResults) {
    const failed = assertionResults.filter((test) => test.status === 'failed');
    counts.passed += assertionResults.filter((test) => test.status === 'passed').length;
    if (status === 'failed' && failed.length === 0) addFailure(counts, relative(root, name), message);
    for (const { fullName, failureMessages } of failed)
      addFailure(counts, `${relative(root, name)}: ${fullName}`, failureMessages.join('\n'));
    for (const test of assertionResults) {
      if (test.status === 'passed' || test.status === 'failed') continue;
      counts.skipped += 1;
      counts.skippedTitles.push(test.fullName);
    }
  }
  return counts;
}
