import type { OpenTable } from './app-state.js';

/**
 * Why the plan shown is one of before: the table was measured again since, or its wishes or stock have changed. Where it
 * is both, the measurement counts: such a plan may speak of track that no longer lies so.
 * @returns null while there is no plan, or the plan is that of now
 */
export function whyOutdated(table: OpenTable): 'measured' | 'wishes' | null {
  if (!table.plan.value) return null;
  if (table.planFrom !== table.stored.measuredInputs) return 'measured';
  return table.planOutdated ? 'wishes' : null;
}
