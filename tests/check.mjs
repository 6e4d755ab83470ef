// `npm run check`: format, types, lint, import rules, unit tests; for the time while one works.
import { runCheckSteps } from './support/check-steps.mjs';

const { passed, failed, failures, skipped } = await runCheckSteps();
for (const failure of failures) console.log(`FAILED: ${failure}`);
if (skipped > 0) console.log(`\n${skipped} skipped`);
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 ? 0 : 1);
