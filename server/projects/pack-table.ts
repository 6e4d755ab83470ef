import { createReadStream } from 'node:fs';
import { readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';
import { besideFiles, planFromFile } from './measured-store.js';
import { photoPath } from './photo-store.js';
import type { TableStore } from './table-store.js';
import { mostZipBytes, type ZipSource, zipArchive } from './zip-writer.js';

/** Files of a measurement, in the folder that table.json names. */
export const measuredFiles = [
  'report.json',
  'plan-view.json',
  'plan-view.jpg',
  'plan.json',
  planFromFile,
  ...besideFiles,
] as const;

/** A table packed up. */
export interface PackedTable {
  /** Name for the archive, without ending. */
  readonly name: string;
  readonly chunks: AsyncIterable<Uint8Array>;
}

/**
 * Packs a whole table into one ZIP: its folder as it is on disk (table.json, photos, the measurement that counts), so
 * that another Gapwright opens it and any unpacking program shows what is in it.
 * @returns problems unknown-table, table-damaged, newer-format, zip-too-large
 */
export async function packTable(store: TableStore, id: string): Promise<Result<PackedTable, Problem>> {
  const table = await store.read(id);
  if (!table.ok) return table;
  const folder = store.folder(id);
  // Read once: what is packed is the table of this moment. Photos and measurements never change under their names.
  const document = await readFile(join(folder, 'table.json'));
  const sources: ZipSource[] = [
    {
      name: `${id}/table.json`,
      bytes: document.length,
      read: async function* () {
        yield document;
      },
    },
  ];
  const add = async (name: string, path: string): Promise<void> => {
    const bytes = await stat(path).then(
      (s) => s.size,
      () => null,
    );
    if (bytes !== null) sources.push({ name: `${id}/${name}`, bytes, read: () => createReadStream(path) });
  };
  for (const photo of table.value.photos) await add(`photos/${photo.id}.${photo.format}`, photoPath(store, id, photo));
  const measured = table.value.measuredInputs;
  if (measured !== null)
    for (const file of measuredFiles)
      await add(`measured/${measured}/${file}`, join(folder, 'measured', measured, file));
  const bytes = sources.reduce((sum, s) => sum + s.bytes + 2 * s.name.length + 100, 0);
  if (bytes > mostZipBytes) return failed(problem('zip-too-large', { gigabytes: Math.ceil(bytes / 2 ** 30) }));
  return ok({ name: table.value.name, chunks: zipArchive(sources, new Date(table.value.changed)) });
}
