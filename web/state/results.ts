import type { Plan } from '../../server/contract/plan.js';
import type { Answer } from '../api/request.js';
import type { TablesApi } from '../api/tables-api.js';
import { noConnection } from '../api/trouble.js';
import type { Loadable, OpenTable } from './app-state.js';
import { same } from './merge-edits.js';
import type { Store } from './store.js';

/** Fetches what was measured and planned for the open table. */
export class Results {
  constructor(
    private readonly store: Store,
    private readonly api: TablesApi,
  ) {}

  /** Report, plan view and the stored plan. */
  async load(): Promise<void> {
    const table = this.store.state.table;
    if (!table) return;
    const { id } = table;
    this.tell(id, {
      report: { ...table.report, status: 'loading' },
      planView: { ...table.planView, status: 'loading' },
    });
    const [report, planView, plan] = await Promise.all([
      this.api.report(id),
      this.api.planView(id),
      this.api.storedPlan(id),
    ]);
    const before = this.store.state.table ?? table;
    // Measured again meanwhile: that measurement is fetched by itself, and its plan with it.
    const planFrom = table.stored.measuredInputs;
    const old = before.report.value;
    const isNew = report.ok && old !== null && !same(report.value, old);
    this.tell(id, {
      report: loaded(report, before.report),
      planView: loaded(planView, before.planView),
      ...(isNew ? { reportBefore: old } : {}),
    });
    if (before.planned.status !== 'none') void this.loadPlanned();
    if (plan.ok) await this.takePlan(table, plan.value, { planFrom, planOutdated: !before.planCurrent });
  }

  /** Where the measurement has no plan yet, the one of before stays to be looked at, if there was one. */
  private async takePlan(
    { id, plan: had }: OpenTable,
    stored: Plan | undefined,
    age: Pick<OpenTable, 'planFrom' | 'planOutdated'>,
  ): Promise<void> {
    // Not over one that is being made, or was made meanwhile.
    const mayTake = (): boolean => this.store.state.table?.plan === had && had.status !== 'loading';
    if (!mayTake()) return;
    if (stored) return this.tell(id, { plan: ready(stored), ...age });
    const before = await this.api.planned(id);
    if (!mayTake() || !before.ok) return;
    this.tell(id, { plan: ready(before.value ?? null), planFrom: null, planOutdated: false });
  }

  /** The measurement before the one shown, as it is kept with the table: what changed outlives a reload. */
  async loadReportBefore(): Promise<void> {
    const table = this.store.state.table;
    if (!table?.report.value || table.reportBefore) return;
    const answer = await this.api.reportBefore(table.id);
    // Not when the table was measured again meanwhile.
    if (answer.ok && this.store.state.table?.report.value === table.report.value)
      this.tell(table.id, { reportBefore: answer.value.report });
  }

  /** The plan of before the last measurement; having none is no trouble. */
  async loadPlanned(): Promise<void> {
    const table = this.store.state.table;
    if (!table) return;
    if (!table.measured) return this.tell(table.id, { planned: ready<Plan>(null) });
    this.tell(table.id, { planned: { ...table.planned, status: 'loading' } });
    const answer = await this.api.planned(table.id);
    const none = answer.ok ? answer.value === undefined : answer.problem.code !== noConnection.code;
    this.tell(table.id, { planned: none ? ready<Plan>(null) : loaded(answer as Answer<Plan>, table.planned) });
  }

  async makePlan(): Promise<void> {
    const table = this.store.state.table;
    if (!table) return;
    this.tell(table.id, { plan: { ...table.plan, status: 'loading' }, planOutdated: false });
    const plan = await this.api.makePlan(table.id);
    const now = this.store.state.table ?? table;
    this.tell(table.id, {
      plan: loaded(plan, now.plan),
      ...(plan.ok
        ? { planFrom: table.stored.measuredInputs }
        : { planOutdated: now.planOutdated || table.planOutdated }),
    });
  }

  private tell(table: string, part: Partial<OpenTable>): void {
    this.store.dispatch({ type: 'loaded', table, part });
  }
}

function ready<T>(value: T | null): Loadable<T> {
  return { status: 'ready', value, trouble: null };
}

function loaded<T>(answer: Answer<T>, before: Loadable<T>): Loadable<T> {
  if (answer.ok) return ready(answer.value);
  return { status: 'failed', value: before.value, trouble: answer.problem };
}
