import { failed, type Result } from '../base/result.js';
import type { Plan } from '../contract/plan.js';
import { type Problem, problem } from '../contract/problems.js';
import { parseWishes } from '../planner/parse-inputs.js';
import { readReport, savePlan } from '../projects/measured-store.js';
import type { TableStore } from '../projects/table-store.js';
import type { WorkProcess } from './work-process.js';

interface Planning {
  readonly controller: AbortController;
  readonly result: Promise<Result<Plan, Problem>>;
}

/** Plans tables, one at a time each: while a plan is being made, a newer wish replaces the older one. */
export class TablePlanner {
  readonly #store: TableStore;
  readonly #process: WorkProcess;
  readonly #planning = new Map<string, Planning>();

  constructor(store: TableStore, process: WorkProcess) {
    this.#store = store;
    this.#process = process;
  }

  /**
   * Plans a table from its stored report, wishes and stock, and stores the plan. Whoever asked before and is overtaken
   * gets the newer plan too.
   * @returns the plan; or unknown-table, nothing-measured, unknown-side, unknown-run, bad-field, cannot-write, work-failed
   */
  plan(tableId: string): Promise<Result<Plan, Problem>> {
    this.#planning.get(tableId)?.controller.abort();
    const controller = new AbortController();
    const result = this.#work(tableId, controller.signal).catch((error): Promise<Result<Plan, Problem>> | never => {
      const newer = this.#planning.get(tableId);
      if (controller.signal.aborted && newer && newer.controller !== controller) return newer.result;
      throw error;
    });
    this.#planning.set(tableId, { controller, result });
    const forget = (): void => {
      if (this.#planning.get(tableId)?.controller === controller) this.#planning.delete(tableId);
    };
    result.then(forget, forget);
    return result;
  }

  /** Starts the planning process ahead of the plan that whoever looks at a measurement or states wishes will ask for. */
  getReady(): void {
    if (this.#process.isCold) this.#process.run('get-ready-to-plan', {}).catch(() => undefined);
  }

  async #work(tableId: string, signal: AbortSignal): Promise<Result<Plan, Problem>> {
    const table = await this.#store.read(tableId);
    if (!table.ok) return table;
    const report = await readReport(this.#store, table.value);
    if (!report.ok) return report;
    const wishes = parseWishes(table.value.wishes, report.value);
    if (!wishes.ok) return wishes;
    const input = { report: report.value, wishes: wishes.value, stock: table.value.stock };
    const planned = await this.#process.run('plan', input, { signal });
    if (!planned.ok) return planned;
    const saved = await savePlan(this.#store, table.value, planned.value);
    if (saved.ok) return planned;
    // The table was measured again meanwhile, or is gone.
    return failed(saved.problem.code === 'nothing-measured' ? problem('nothing-measured', {}) : saved.problem);
  }
}
