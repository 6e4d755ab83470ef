import { fork } from 'node:child_process';
import { chmodSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { failed, ok } from '../../../server/base/result.js';
import { problem } from '../../../server/contract/problems.js';
import { writing } from '../../../server/projects/durable-write.js';
import { newTableId, parseTable } from '../../../server/projects/table-document.js';
import { withTableLock } from '../../../server/projects/table-lock.js';
import { TableStore } from '../../../server/projects/table-store.js';

const homes: string[] = [];
afterEach(() => {
  for (const home of homes.splice(0)) rmSync(home, { recursive: true, force: true });
});

function newHome(): string {
  const home = mkdtempSync(join(tmpdir(), 'gapwright-store-'));
  homes.push(home);
  return home;
}

async function storeWithTable() {
  const home = newHome();
  const store = new TableStore(home);
  await store.open();
  const table = await store.create('Attic');
  if (!table.ok) throw new Error(table.problem.code);
  return { home, store, table: table.value, file: join(home, table.value.id, 'table.json') };
}

describe('the store of tables', () => {
  it('loses none of many changes made at the same time', async () => {
    const { store, table } = await storeWithTable();
    const add = (i: number) =>
      store.update(table.id, (t) =>
        ok({ ...t, stock: { ...t.stock, donors: [...t.stock.donors, { id: `d${i}`, lengthMm: 254 }] } }),
      );
    await Promise.all(Array.from({ length: 40 }, (_, i) => add(i)));
    const after = await store.read(table.id);
    expect(after.ok && after.value.stock.donors.length).toBe(40);
    expect(after.ok && after.value.version).toBe(table.version + 40);
  });

  it('takes over the lock of a process that is gone, and waits for one that lives', async () => {
    const { home, store, table } = await storeWithTable();
    const lock = join(home, table.id, 'in-use');
    const gone = fork('-e', ['0'], { execArgv: ['-e', '0'], stdio: 'ignore' });
    await new Promise((done) => gone.on('exit', done));
    writeFileSync(lock, String(gone.pid));
    expect((await store.change(table.id, table.version, { name: 'A' })).ok).toBe(true);
    writeFileSync(lock, String(process.ppid));
    const waiting = store.change(table.id, table.version + 1, { name: 'B' });
    await new Promise((resume) => setTimeout(resume, 120));
    expect(JSON.parse(readFileSync(join(home, table.id, 'table.json'), 'utf8')).name).toBe('A');
    rmSync(lock);
    expect((await waiting).ok).toBe(true);
  });

  it('lets work on one folder go one after the other, also after work that failed', async () => {
    const folder = newHome();
    const order: string[] = [];
    const work = (name: string) =>
      withTableLock(folder, async () => {
        order.push(`${name} begins`);
        await new Promise((resume) => setTimeout(resume, 10));
        order.push(`${name} ends`);
        if (name === 'first') throw new Error('first fails');
      });
    const first = work('first').catch(() => undefined);
    await Promise.all([first, work('second')]);
    expect(order).toEqual(['first begins', 'first ends', 'second begins', 'second ends']);
  });

  it('leaves the table as it was when a change is refused', async () => {
    const { store, table, file } = await storeWithTable();
    const before = readFileSync(file, 'utf8');
    const refused = await store.update(table.id, () => failed(problem('no-photos', {})));
    expect(refused.ok).toBe(false);
    expect(readFileSync(file, 'utf8')).toBe(before);
  });

  it('removes what a killed process left half-written, and nothing of one that lives', async () => {
    const { home, store, table } = await storeWithTable();
    const gone = fork('-e', ['0'], { execArgv: ['-e', '0'], stdio: 'ignore' });
    await new Promise((done) => gone.on('exit', done));
    const folder = join(home, table.id);
    writeFileSync(join(folder, `table.json.${gone.pid}-1.part`), '{"half');
    writeFileSync(join(folder, 'photos', `photo-0001.${gone.pid}-2.part`), 'half');
    writeFileSync(join(folder, `work.json.${process.pid}-3.part`), 'being written');
    mkdirSync(join(home, `.attic.${gone.pid}-4.part`));
    await new TableStore(home).open();
    expect(readdirSync(folder).sort()).toEqual(['photos', 'table.json', `work.json.${process.pid}-3.part`]);
    expect(readdirSync(join(folder, 'photos'))).toEqual([]);
    expect(readdirSync(home)).toEqual([table.id]);
    expect((await store.list()).length).toBe(1);
  });

  it.skipIf(process.getuid?.() === 0)('says that the folder cannot be written, and keeps what was saved', async () => {
    const { home, store, table } = await storeWithTable();
    chmodSync(join(home, table.id), 0o500);
    const changed = await store.change(table.id, table.version, { name: 'B' });
    chmodSync(join(home, table.id), 0o700);
    expect(!changed.ok && changed.problem.problem.code).toBe('cannot-write');
    expect(await store.read(table.id)).toEqual(ok(table));
  });

  it.each([
    ['ENOSPC', 'the disk is full'],
    ['EROFS', 'the disk is read-only'],
    ['EACCES', 'there is no permission to write there'],
  ])('turns %s of the file system into the problem that %s', async (code, why) => {
    const outcome = await writing(() => Promise.reject(Object.assign(new Error(code), { code })));
    expect(outcome).toEqual(failed(problem('cannot-write', { why })));
  });

  it('does not hide faults of the program behind the disk', async () => {
    await expect(writing(() => Promise.reject(new TypeError('wrong')))).rejects.toThrow('wrong');
  });

  it('opens a table whose folder was copied under another name as a table of its own', async () => {
    const { table, file } = await storeWithTable();
    const parsed = parseTable('copied-table', readFileSync(file, 'utf8'));
    expect(parsed.ok && [parsed.value.id, parsed.value.name]).toEqual(['copied-table', table.name]);
  });

  it('opens a table as the first version of the program stored it, without what came later', () => {
    const text = `{ "format": "gapwright-table/1", "id": "old", "name": "Old table", "version": 7,
      "changed": "2026-03-01T10:00:00.000Z", "settings": { "track": "low", "markerSideMm": 150 },
      "photos": [{ "id": "photo-0001", "name": "IMG.jpg", "bytes": 9, "widthPx": 4, "heightPx": 3, "added": "" }],
      "wishes": { "format": "gapwright-wishes/1" }, "stock": { "format": "gapwright-stock/1" },
      "measuredInputs": null }`;
    const parsed = parseTable('old-table', text);
    expect(parsed).toMatchObject({
      ok: true,
      value: {
        name: 'Old table',
        version: 7,
        settings: { track: 'low', markerSideMm: 150, unit: 'in', tapeChecks: [] },
        photos: [{ id: 'photo-0001', format: 'jpeg' }],
        corrections: { list: [] },
      },
    });
  });

  it.each(['Birch table, 2nd try', '', '   ', 'Ünïcödé täble', '../../etc', '🚂', 'x'.repeat(300)])(
    'makes a folder name that any disk takes from the name %j',
    (name) => {
      expect(newTableId(name)).toMatch(/^[a-z0-9][a-z0-9-]{2,63}$/);
    },
  );
});
