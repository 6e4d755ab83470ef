import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

const root = fileURLToPath(new URL('..', import.meta.url));

/** One kind of test: its files, and how long one test may take. */
function kind(name: string, include: string[], seconds: number, more: Record<string, unknown> = {}) {
  return {
    extends: true as const,
    test: { name, include, testTimeout: seconds * 1000, hookTimeout: 120_000, ...more },
  };
}

/** The kinds of tests, each run alone with `npx vitest run --config tests/vitest.config.ts --project unit`. */
export default defineConfig({
  root,
  cacheDir: `${root}/.cache/vitest`,
  // Sources of the page use decorators as lit documents them for TypeScript.
  oxc: { decorator: { legacy: true }, assumptions: { setPublicClassFields: true } },
  test: {
    maxWorkers: 2,
    // What must come about gets its time where the machine has much to do.
    expect: { poll: { timeout: 15_000 } },
    projects: [
      kind('unit', ['tests/unit/**/*.test.ts'], 60, { exclude: ['**/*.property.test.ts'] }),
      kind('property', ['tests/**/*.property.test.ts'], 120),
      kind('sources', ['tests/sources/**/*.test.ts'], 120),
      // One picture at a time: the pipeline uses all cores by itself.
      kind('accuracy', ['tests/accuracy/**/*.test.ts'], 300, { fileParallelism: false }),
      kind('golden', ['tests/golden/**/*.test.ts'], 120),
      kind('http', ['tests/http/**/*.test.ts'], 180, { globalSetup: ['tests/support/build-first.mjs'] }),
      kind('commands', ['tests/commands/**/*.test.ts'], 120, { globalSetup: ['tests/support/build-first.mjs'] }),
      kind('fuzz', ['tests/fuzz/**/*.test.ts'], 120, { globalSetup: ['tests/support/build-first.mjs'] }),
      kind('architecture', ['tests/architecture/**/*.test.ts'], 120),
      kind('browser', ['tests/browser/**/*.test.ts'], 300, {
        fileParallelism: false,
        globalSetup: ['tests/support/build-page-first.mjs'],
      }),
    ],
  },
});
