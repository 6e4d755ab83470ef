import { mkdtempSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { TableStore } from '../../../server/projects/table-store.js';
import { unusedName } from '../../../server/projects/unused-name.js';

let home: string;
beforeAll(() => {
  home = mkdtempSync(join(tmpdir(), 'gapwright-names-'));
});
afterAll(() => rm(home, { recursive: true, force: true }));

it('a name that is taken gets the next free number, and never more letters than a name may have', async () => {
  const store = new TableStore(home);
  const long = 'a'.repeat(80);
  for (const name of ['Attic', 'Attic (2)', long]) await store.create(name);
  expect(await unusedName(store, 'Porch')).toBe('Porch');
  expect(await unusedName(store, 'Attic')).toBe('Attic (3)');
  expect(await unusedName(store, 'Attic (2)')).toBe('Attic (3)');
  expect(await unusedName(store, 'Cellar (2)')).toBe('Cellar (2)');
  expect(await unusedName(store, long)).toBe(`${'a'.repeat(76)} (2)`);
});
