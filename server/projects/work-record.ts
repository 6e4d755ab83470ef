import { readFile, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { z } from 'zod';
import type { Result } from '../base/result.js';
import type { Problem } from '../contract/problems.js';
import { writeDurably, writing } from './durable-write.js';
import { withTableLock } from './table-lock.js';
import type { TableStore } from './table-store.js';

/**
 * What is to be done with a table, or how it ended: kept on disk so that work goes on after the program was stopped.
 * `attempts` counts how often a measurement was begun: work that takes the whole program down is not begun for ever.
 */
export type WorkRecord =
  | { readonly status: 'wanted'; readonly since: string; readonly attempts: number }
  | { readonly status: 'failed'; readonly problem: Problem; readonly photos?: readonly string[] };

const schema = z.union([
  z.object({ status: z.literal('wanted'), since: z.string(), attempts: z.number().int() }),
  z.object({
    status: z.literal('failed'),
    problem: z.object({ code: z.string(), data: z.record(z.string(), z.unknown()) }),
    photos: z.array(z.string()).optional(),
  }),
]);

const path = (store: TableStore, tableId: string): string => join(store.folder(tableId), 'work.json');

/** @returns the record, or null when nothing is to be done and nothing failed */
export async function readWorkRecord(store: TableStore, tableId: string): Promise<WorkRecord | null> {
  try {
    const parsed = schema.safeParse(JSON.parse(await readFile(path(store, tableId), 'utf8')));
    return parsed.success ? (parsed.data as WorkRecord) : null;
  } catch {
    return null;
  }
}

/** Stores the record; null removes it. Records of one table are stored in the order of asking. */
export function saveWorkRecord(
  store: TableStore,
  tableId: string,
  record: WorkRecord | null,
): Promise<Result<void, Problem>> {
  return writing(() =>
    withTableLock(store.folder(tableId), async () => {
      if (record === null) await rm(path(store, tableId), { force: true });
      else await writeDurably(path(store, tableId), JSON.stringify(record));
    }),
  );
}
