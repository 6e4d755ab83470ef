import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { failed, ok } from '../../../../server/base/result.js';
import { noStock } from '../../../../server/contract/stock.js';
import { type TableEdits, type TablesApi, tablesApi } from '../../../../web/api/tables-api.js';
import { noConnection } from '../../../../web/api/trouble.js';
import { Saver } from '../../../../web/state/saver.js';
import { Store } from '../../../../web/state/store.js';
import { birchTable } from '../../../support/birch-table.js';

const first = birchTable({ version: 1 });

/** A server in memory that keeps to the agreed rules: a change must name the version that is stored. */
class MemoryServer {
  stored = first;
  reachable = true;
  readonly asked: TableEdits[] = [];

  readonly api: TablesApi = {
    ...tablesApi,
    change: async (_, version, edits) => {
      if (!this.reachable) return failed(noConnection);
      this.asked.push(edits);
      if (version !== this.stored.version) {
        return failed({ code: 'changed-elsewhere', sentence: '', nextStep: '', body: { current: this.stored } });
      }
      this.stored = { ...this.stored, ...edits, version: version + 1 };
      return ok(this.stored);
    },
  };
}

function opened() {
  const server = new MemoryServer();
  const store = new Store();
  store.dispatch({ type: 'went', place: { table: 'birch-1', step: 'wishes' } });
  store.dispatch({
    type: 'opened',
    opened: {
      table: first,
      work: { status: 'none' },
      measured: false,
      stale: false,
      planCurrent: false,
      photosSincePlanned: false,
      beforeCuts: [],
    },
  });
  const told: string[] = [];
  const saver = new Saver(store, server.api, (before, now) => told.push(`${before.name}, then ${now.name}`));
  return { store, saver, server, told };
}

describe('saving', () => {
  beforeEach(() => vi.useFakeTimers());
  afterEach(() => vi.useRealTimers());

  test('several edits in a row are sent as one change, only what changed, and that it is stored is told once', async () => {
    const { store, saver, server, told } = opened();
    for (const name of ['a', 'ab', 'abc']) {
      store.dispatch({ type: 'edit', change: { name } });
      saver.saveSoon();
    }
    await vi.advanceTimersByTimeAsync(1000);
    expect(server.asked).toEqual([{ name: 'abc' }]);
    expect(told).toEqual(['Birch, then abc']);
    expect(store.state.table?.saving).toBe('saved');
  });

  test('after a broken connection everything is sent when it is back', async () => {
    const { store, saver, server } = opened();
    server.reachable = false;
    store.dispatch({ type: 'edit', change: { name: 'kept' } });
    expect(await saver.saveNow()).toBe(false);
    expect(store.state.table?.saving).toBe('failed');
    expect(store.state.table?.edited.name).toBe('kept');
    server.reachable = true;
    saver.wake();
    await vi.advanceTimersByTimeAsync(10);
    expect(server.stored.name).toBe('kept');
    expect(store.state.table?.saving).toBe('saved');
  });

  test('what was entered just before the table was left is stored all the same', async () => {
    const { store, saver, server } = opened();
    store.dispatch({ type: 'edit', change: { name: 'in haste' } });
    saver.saveSoon();
    const left = saver.leave();
    store.dispatch({ type: 'went', place: { table: null, step: null } });
    expect(await left).toBe(true);
    await vi.advanceTimersByTimeAsync(5000);
    expect(server.stored.name).toBe('in haste');
    expect(server.asked).toHaveLength(1);
    expect(await saver.leave()).toBe(false);
  });

  test('a table that is left without a connection, or while it is being saved, is stored in the end', async () => {
    const { store, saver, server } = opened();
    store.dispatch({ type: 'edit', change: { name: 'first' } });
    const saving = saver.saveNow();
    store.dispatch({ type: 'edit', change: { name: 'second' } });
    const left = saver.leave();
    store.dispatch({ type: 'went', place: { table: null, step: null } });
    server.reachable = false;
    await saving;
    await vi.advanceTimersByTimeAsync(4000);
    server.reachable = true;
    await vi.advanceTimersByTimeAsync(4000);
    expect(await left).toBe(true);
    expect(server.stored.name).toBe('second');
  });

  test('leaving a table does not write over what another device changed there', async () => {
    const { store, saver, server } = opened();
    server.stored = { ...first, version: 5, name: 'Theirs' };
    store.dispatch({ type: 'edit', change: { name: 'Mine' } });
    expect(await saver.leave()).toBe(false);
    expect(server.stored.name).toBe('Theirs');
    store.dispatch({ type: 'edit', change: { name: first.name, stock: { ...noStock, kerfMm: 1.5 } } });
    expect(await saver.leave()).toBe(true);
    expect(server.stored).toMatchObject({ name: 'Theirs', stock: { kerfMm: 1.5 } });
  });

  test('another device changed something else: both changes are stored', async () => {
    const { store, saver, server } = opened();
    server.stored = { ...first, version: 5, name: 'Theirs' };
    store.dispatch({ type: 'edit', change: { stock: { ...noStock, kerfMm: 1.5 } } });
    expect(await saver.saveNow()).toBe(true);
    expect(server.stored).toMatchObject({ name: 'Theirs', stock: { kerfMm: 1.5 }, version: 6 });
    expect(store.state.notice?.text).toMatch(/other device|another device/);
  });

  test('another device changed the same: it stands until the person decides', async () => {
    const { store, saver, server } = opened();
    server.stored = { ...first, version: 5, name: 'Theirs' };
    store.dispatch({ type: 'edit', change: { name: 'Mine' } });
    expect(await saver.saveNow()).toBe(false);
    expect(server.stored.name).toBe('Theirs');
    expect(store.state.table?.conflict?.name).toBe(first.name);
    expect(store.state.table?.stored.name).toBe('Theirs');
    expect(store.state.table?.edited.name).toBe('Mine');
    await vi.advanceTimersByTimeAsync(5000);
    expect(server.stored.name).toBe('Theirs');
    store.dispatch({ type: 'stored', document: server.stored, keepMine: true });
    expect(await saver.saveNow()).toBe(true);
    expect(server.stored.name).toBe('Mine');
  });
});
