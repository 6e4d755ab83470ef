import type { WorkState } from '../../server/contract/tables.js';
import type { OpenTable } from './app-state.js';

/** How the measuring goes, as it is to be shown: a failure is no longer told once the photos that it speaks of are gone. */
export function workShown({ work, stored, measured }: OpenTable): WorkState {
  if (work.status !== 'failed') return work;
  const left = stored.photos.filter((p) => work.photos?.includes(p.id) ?? true);
  return left.length > 0 ? work : { status: measured ? 'done' : 'none' };
}
