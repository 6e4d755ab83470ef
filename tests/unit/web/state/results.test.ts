import { describe, expect, test } from 'vitest';
import type { Plan } from '../../../../server/contract/plan.js';
import { noWishes } from '../../../../server/contract/wishes.js';
import type { OpenedTable, TablesApi } from '../../../../web/api/tables-api.js';
import { noConnection } from '../../../../web/api/trouble.js';
import type { OpenTable } from '../../../../web/state/app-state.js';
import { Results } from '../../../../web/state/results.js';
import { stepsDone } from '../../../../web/state/steps-done.js';
import { Store } from '../../../../web/state/store.js';
import { whyOutdated } from '../../../../web/state/why-outdated.js';
import { birchTable } from '../../../support/birch-table.js';

const document = birchTable({ measuredInputs: 'inputs-first' });

/** A server with one table: what it has stored as the plan of its measurement, and as the one of before. */
class Server {
  measurement = 'inputs-first';
  plan: Plan | undefined = named('first');
  planned: Plan | undefined;
  planCurrent = true;

  /** As the server does: the new measurement has no plan, the one of before is kept beside it. */
  measureAgain(): void {
    this.measurement = 'inputs-second';
    [this.planned, this.plan] = [this.plan, undefined];
    this.planCurrent = false;
  }

  opened(): OpenedTable {
    const table = { ...document, measuredInputs: this.measurement };
    const { planCurrent } = this;
    return {
      table,
      work: { status: 'done' },
      measured: true,
      stale: false,
      planCurrent,
      photosSincePlanned: false,
      beforeCuts: [],
    };
  }

  get api(): TablesApi {
    const answer = <T>(value: T) => Promise.resolve({ ok: true, value });
    return {
      report: () => answer({}),
      planView: () => answer({}),
      storedPlan: () => answer(this.plan),
      planned: () => answer(this.planned),
      makePlan: () => {
        this.plan = named('second');
        this.planCurrent = true;
        return answer(this.plan);
      },
    } as unknown as TablesApi;
  }
}

function named(name: string): Plan {
  return { format: 'gapwright-plan/1', fillers: [{ id: name }] } as unknown as Plan;
}

function page(server: Server, api: Partial<TablesApi> = {}) {
  const store = new Store();
  const results = new Results(store, { ...server.api, ...api });
  const open = (): Promise<void> => {
    store.dispatch({ type: 'opened', opened: server.opened() });
    return results.load();
  };
  const table = (): OpenTable => {
    if (!store.state.table) throw new Error('no table is open');
    return store.state.table;
  };
  const seen = () => [table().plan.value?.fillers[0]?.id ?? null, whyOutdated(table())];
  store.dispatch({ type: 'went', place: { table: document.id, step: 'fillers' } });
  return { store, results, open, table, seen };
}

describe('the plan after measuring again', () => {
  test('it stays, and is known to be of the measurement before, until it is worked out again', async () => {
    const server = new Server();
    const { open, results, seen, table } = page(server);
    await open();
    expect(seen()).toEqual(['first', null]);
    expect(stepsDone(table()).has('fillers')).toBe(true);
    server.measureAgain();
    await open();
    expect(seen()).toEqual(['first', 'measured']);
    expect(stepsDone(table()).has('fillers')).toBe(false);
    await results.makePlan();
    expect(seen()).toEqual(['second', null]);
  });

  test('a page opened afterwards says the same', async () => {
    const server = new Server();
    server.measureAgain();
    const { open, seen } = page(server);
    await open();
    expect(seen()).toEqual(['first', 'measured']);
  });

  test('so it is as soon as the table says so, before the new measurement is fetched', async () => {
    const server = new Server();
    const { open, store, seen } = page(server);
    await open();
    server.measureAgain();
    store.dispatch({ type: 'opened', opened: server.opened() });
    expect(seen()).toEqual(['first', 'measured']);
  });

  test('where nothing was planned before, there is no plan and nothing to say of it', async () => {
    const server = new Server();
    server.plan = undefined;
    const { open, seen, table } = page(server);
    await open();
    expect(seen()).toEqual([null, null]);
    expect(table().plan.status).toBe('ready');
  });

  test('a plan made while what is stored is asked for is not replaced by the one of before', async () => {
    const server = new Server();
    server.measureAgain();
    let tellPlanned: (() => void) | null = null;
    const planned: TablesApi['planned'] = async () => {
      await new Promise<void>((resolve) => (tellPlanned = resolve));
      return { ok: true, value: server.planned };
    };
    const { open, results, seen } = page(server, { planned });
    const opening = open();
    await expect.poll(() => tellPlanned).not.toBeNull();
    await results.makePlan();
    (tellPlanned as (() => void) | null)?.();
    await opening;
    expect(seen()).toEqual(['second', null]);
  });

  test('when working it out again fails, the old one is still said to be old', async () => {
    const server = new Server();
    const makePlan: TablesApi['makePlan'] = async () => ({ ok: false, problem: noConnection });
    const { open, results, seen, store } = page(server, { makePlan });
    await open();
    store.dispatch({ type: 'edit', change: { wishes: { ...noWishes, closeGaps: false } } });
    await results.makePlan();
    expect(seen()).toEqual(['first', 'wishes']);
    server.measureAgain();
    await open();
    await results.makePlan();
    expect(seen()).toEqual(['first', 'measured']);
  });
});
