import { createHash, randomBytes } from 'node:crypto';
import { z } from 'zod';
import { failed, ok, type Result } from '../base/result.js';
import { type Corrections, noCorrections } from '../contract/corrections.js';
import { type Problem, problem } from '../contract/problems.js';
import { noStock } from '../contract/stock.js';
import { settingsSchema, type TableDocument, tableFormat, tableSchema } from '../contract/tables.js';
import { noWishes } from '../contract/wishes.js';

/** The parts of a table that people change; each remembers the version in which it last changed. */
export const changeableParts = ['name', 'settings', 'wishes', 'stock', 'corrections'] as const;
export type ChangeablePart = (typeof changeableParts)[number];

/** What stands in table.json: the document, and in which version each part was last changed. */
export const storedTableSchema = tableSchema.extend({
  partVersions: z.partialRecord(z.enum(changeableParts), z.number().int()).default({}),
});
export type StoredTable = z.infer<typeof storedTableSchema>;

/**
 * Reads the text of a table.json.
 * @returns the table, or newer-format or table-damaged
 */
export function parseTable(id: string, text: string): Result<StoredTable, Problem> {
  const damaged = failed(problem('table-damaged', { id }));
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch {
    return damaged;
  }
  const found = String((json as { format?: unknown } | null)?.format);
  const version = /^gapwright-table\/(\d+)$/.exec(found)?.[1];
  if (version !== undefined && Number(version) > Number(tableFormat.split('/')[1])) {
    return failed(problem('newer-format', { name: 'This table', found }));
  }
  const parsed = storedTableSchema.safeParse(json);
  // The folder's name is the id: a folder that was copied under another name is another table.
  return parsed.success ? ok({ ...parsed.data, id }) : damaged;
}

/** The document as devices get it, without what only the store needs. */
export function publicTable({ partVersions: _, ...table }: StoredTable): TableDocument {
  return table;
}

/** A table without photos. */
export function newTable(id: string, name: string, sample: boolean, now: Date): StoredTable {
  return {
    format: tableFormat,
    id,
    name,
    version: 1,
    changed: now.toISOString(),
    sample,
    settings: settingsSchema.parse({}),
    photos: [],
    wishes: noWishes,
    stock: noStock,
    corrections: noCorrections,
    measuredInputs: null,
    partVersions: {},
  };
}

/** A new id that tells a person looking into the folder which table it is: `birch-table-1f9c03ab`. */
export function newTableId(name: string): string {
  const words = name
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .slice(0, 40)
    .replace(/^-+|-+$/g, '');
  return `${words === '' ? 'table' : words}-${randomBytes(4).toString('hex')}`;
}

/** Whether a text can be a table's id, and so the name of its folder. */
export function isTableId(text: string): boolean {
  return /^[a-z0-9][a-z0-9-]{2,63}$/.test(text);
}

/** Whether a text can be a photo's id, and so the beginning of its file's name. */
export function isPhotoId(text: string): boolean {
  return /^[a-z0-9-]{8,40}$/.test(text);
}

/** The corrections on photos that the table still has; the others wait, in case their photo comes back by undoing. */
export function usedCorrections({ photos, corrections }: TableDocument): Corrections {
  const list = corrections.list.filter((c) => photos.some((p) => p.id === c.photo));
  return { ...corrections, list };
}

/**
 * A short digest of everything that a measurement depends on: photos, track, marker side, tape lengths, square corners,
 * corrections. What came to the settings later counts only where it is used: what was measured before stays current.
 */
export function inputsDigest(table: TableDocument): string {
  const { photos, settings } = table;
  const { track, markerSideMm, tapeChecks, sideChecks, squareCorners } = settings;
  const { list } = usedCorrections(table);
  const inputs = [
    photos.map((p) => [p.id, p.bytes]),
    track,
    markerSideMm,
    tapeChecks,
    ...(list.length > 0 ? [list] : []),
    ...(sideChecks.length > 0 ? [{ sideChecks }] : []),
    ...(squareCorners ? [{ squareCorners }] : []),
  ];
  return createHash('sha256').update(JSON.stringify(inputs)).digest('hex').slice(0, 16);
}

/** Whether the stored report was made from other photos or settings than the table has now. */
export function isStale(table: TableDocument): boolean {
  return table.measuredInputs !== null && !table.measuredInputs.startsWith(`${inputsDigest(table)}-`);
}
