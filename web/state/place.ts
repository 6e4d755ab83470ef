import { type StepId, stepIds } from '../text/steps.js';
import type { Place } from './app-state.js';

/** The address within the page, so that reload, back and a shared link lead to the same place: `#/table/ID/STEP`. */
export function addressOf(place: Place): string {
  if (!place.table) return '#/';
  return `#/table/${encodeURIComponent(place.table)}/${place.step ?? 'photos'}`;
}

/** Reads an address; anything unknown leads to the start. */
export function placeOf(address: string): Place {
  const match = /^#\/table\/([^/]+)(?:\/([a-z]+))?$/.exec(address);
  if (!match) return { table: null, step: null };
  const step = stepIds.find((id) => id === match[2]);
  try {
    return { table: decodeURIComponent(match[1]), step: (step ?? 'photos') satisfies StepId };
  } catch {
    return { table: null, step: null };
  }
}
