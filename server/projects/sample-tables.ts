import { createReadStream } from 'node:fs';
import { readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { z } from 'zod';
import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';
import { stockSchema } from '../contract/stock.js';
import { type StoredPhoto, settingsSchema, type TableDocument } from '../contract/tables.js';
import { wishesSchema } from '../contract/wishes.js';
import { acceptPhoto, receivePhoto } from './photo-store.js';
import type { TableStore } from './table-store.js';
import { unusedName } from './unused-name.js';

const samplesSchema = z.array(
  z.object({
    id: z.string(),
    name: z.string(),
    photos: z.array(z.string().regex(/^[a-z0-9-]+\.jpg$/)),
    settings: settingsSchema,
    wishes: wishesSchema,
    stock: stockSchema,
  }),
);

/** Opens a photo that is to become one of a table's, and tells its upright size. */
export type PhotoOpener = (
  tableId: string,
  photoId: string,
  name: string,
  path: string,
) => Promise<Result<Pick<StoredPhoto, 'format' | 'widthPx' | 'heightPx'>, Problem>>;

/**
 * Copies a sample table into a new table of its own.
 * @param samplesFolder folder with sample-tables.json and the photos
 * @param sampleId which one; null for the first
 */
export async function createSampleTable(
  store: TableStore,
  samplesFolder: string,
  sampleId: string | null,
  open: PhotoOpener,
): Promise<Result<TableDocument, Problem>> {
  const samples = samplesSchema.parse(JSON.parse(await readFile(join(samplesFolder, 'sample-tables.json'), 'utf8')));
  const sample = sampleId === null ? samples[0] : samples.find((s) => s.id === sampleId);
  if (!sample) return failed(problem('unknown-sample', { id: String(sampleId).slice(0, 40) }));
  const created = await store.create(await unusedName(store, sample.name), true);
  if (!created.ok) return created;
  const { id, version } = created.value;
  const filled = await fill();
  if (!filled.ok) await store.remove(id);
  return filled;

  async function fill(): Promise<Result<TableDocument, Problem>> {
    for (const [i, name] of (sample?.photos ?? []).entries()) {
      const added = await addPhoto(
        store,
        id,
        `sample-${String(i + 1).padStart(3, '0')}`,
        join(samplesFolder, name),
        name,
        open,
      );
      if (!added.ok) return added;
    }
    const changed = await store.change(id, version, {
      settings: sample?.settings,
      wishes: sample?.wishes,
      stock: sample?.stock,
    });
    return changed.ok ? changed : failed(changed.problem.problem);
  }
}

async function addPhoto(
  store: TableStore,
  tableId: string,
  photoId: string,
  path: string,
  name: string,
  open: PhotoOpener,
): Promise<Result<void, Problem>> {
  const size = await open(tableId, photoId, name, path);
  if (!size.ok) return size;
  const received = await receivePhoto(store, tableId, photoId, name, createReadStream(path));
  if (!received.ok) return received;
  const { size: bytes } = await stat(path);
  const { partPath } = received.value;
  const accepted = await acceptPhoto(store, tableId, { ...size.value, partPath, photoId, name, bytes });
  return accepted.ok ? ok(undefined) : accepted;
}
