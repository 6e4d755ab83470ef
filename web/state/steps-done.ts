import type { StepId } from '../text/steps.js';
import type { OpenTable } from './app-state.js';
import { whyOutdated } from './why-outdated.js';

/** The steps of the path that already have what they are for. */
export function stepsDone(table: OpenTable | null): ReadonlySet<StepId> {
  const done = new Set<StepId>();
  if (!table) return done;
  if (table.stored.photos.length > 0) done.add('sheet');
  // Photos are there to be measured: ones that cannot be do not end that step.
  if (table.measured && !table.stale) done.add('photos').add('measured');
  if (table.plan.value && !whyOutdated(table)) done.add('wishes').add('fillers');
  return done;
}
