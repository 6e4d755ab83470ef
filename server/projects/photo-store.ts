import { mkdir, open, rename, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';
import type { StoredPhoto, TableDocument } from '../contract/tables.js';
import { flushFolder, partName, writing } from './durable-write.js';
import { photoName } from './photo-name.js';
import { isPhotoId } from './table-document.js';
import type { TableStore } from './table-store.js';

/** Photos of one table: more is a slip, or another table. */
export const mostPhotos = 40;
/** Greatest photo file, bytes: 100 Mpx as PNG with room to spare. */
export const mostPhotoBytes = 200 * 1024 * 1024;

/** A file that arrived and was looked at, but does not belong to the table yet. */
export interface ArrivedPhoto {
  readonly partPath: string;
  readonly photoId: string;
  readonly name: string;
  readonly format: StoredPhoto['format'];
  readonly bytes: number;
  readonly widthPx: number;
  readonly heightPx: number;
}

/** The file of a photo: named by its id and what it holds, never by the name that the device gave. */
export function photoPath(store: TableStore, tableId: string, photo: Pick<StoredPhoto, 'id' | 'format'>): string {
  return join(photoFolder(store, tableId), `${checkedId(photo.id)}.${photo.format}`);
}

function photoFolder(store: TableStore, tableId: string): string {
  return join(store.folder(tableId), 'photos');
}

function checkedId(photoId: string): string {
  if (!isPhotoId(photoId)) throw new Error(`not a photo id: ${JSON.stringify(photoId)}`);
  return photoId;
}

/**
 * Takes in bytes beside the photos, flushed. They count for nothing until acceptPhoto.
 * @returns path and size; file-too-large when more than `mostBytes` come, upload-broken-off when the sender stops
 */
export async function receivePhoto(
  store: TableStore,
  tableId: string,
  photoId: string,
  name: string,
  chunks: AsyncIterable<Uint8Array>,
  mostBytes = mostPhotoBytes,
): Promise<Result<{ partPath: string; bytes: number }, Problem>> {
  const partPath = partName(join(photoFolder(store, tableId), checkedId(photoId)));
  const written = await writing(async (): Promise<Result<number, Problem>> => {
    await mkdir(photoFolder(store, tableId), { recursive: true });
    const file = await open(partPath, 'wx');
    try {
      let bytes = 0;
      for await (const chunk of arriving(chunks)) {
        if (chunk === null) return failed(problem('upload-broken-off', { name }));
        bytes += chunk.length;
        if (bytes > mostBytes) return tooLarge(name, bytes, mostBytes);
        await file.writeFile(chunk);
      }
      await file.sync();
      return ok(bytes);
    } finally {
      await file.close();
    }
  });
  const outcome = written.ok ? written.value : written;
  if (outcome.ok) return ok({ partPath, bytes: outcome.value });
  await rm(partPath, { force: true }).catch(() => undefined);
  return outcome;
}

/** The chunks, then null where the sender broke off: that is no fault of the disk, and must not look like one. */
async function* arriving(chunks: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array | null> {
  const iterator = chunks[Symbol.asyncIterator]();
  for (;;) {
    let next: IteratorResult<Uint8Array>;
    try {
      next = await iterator.next();
    } catch {
      yield null;
      return;
    }
    if (next.done) return;
    yield next.value;
  }
}

function tooLarge(name: string, bytes: number, mostBytes: number): Result<number, Problem> {
  const megabytes = Math.ceil(bytes / 2 ** 20);
  return failed(problem('file-too-large', { name, megabytes, mostMegabytes: Math.floor(mostBytes / 2 ** 20) }));
}

/** Makes an arrived file one of the table's photos. The same id again changes nothing and gives the photo there is. */
export async function acceptPhoto(
  store: TableStore,
  tableId: string,
  arrived: ArrivedPhoto,
  now: Date = new Date(),
): Promise<Result<{ photo: StoredPhoto; table: TableDocument }, Problem>> {
  let photo: StoredPhoto | undefined;
  const table = await store.update(tableId, async (stored) => {
    photo = stored.photos.find((p) => p.id === arrived.photoId);
    if (photo) return ok(stored);
    if (stored.photos.length >= mostPhotos) return failed(problem('too-many-photos', { most: mostPhotos }));
    const { photoId: id, format, bytes, widthPx, heightPx } = arrived;
    const name = photoName(
      arrived.name,
      stored.photos.map((p) => p.name),
    );
    photo = { id, name, format, bytes, widthPx, heightPx, added: now.toISOString() };
    await rename(arrived.partPath, photoPath(store, tableId, photo));
    await flushFolder(photoFolder(store, tableId));
    return ok({ ...stored, photos: [...stored.photos, photo] });
  });
  await rm(arrived.partPath, { force: true }).catch(() => undefined);
  if (!table.ok) return table;
  if (!photo) throw new Error('a photo was accepted without being made');
  return ok({ photo, table: table.value });
}

/** Takes a photo out of the table, then off the disk. */
export async function removePhoto(
  store: TableStore,
  tableId: string,
  photoId: string,
): Promise<Result<TableDocument, Problem>> {
  let removed: StoredPhoto | undefined;
  const table = await store.update(tableId, (stored) => {
    removed = stored.photos.find((p) => p.id === photoId);
    if (!removed) return failed(problem('unknown-photo', { id: photoId.slice(0, 40) }));
    return ok({ ...stored, photos: stored.photos.filter((p) => p !== removed) });
  });
  if (table.ok && removed) await rm(photoPath(store, tableId, removed), { force: true }).catch(() => undefined);
  return table;
}
