import { rename, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';
import type { StoredPhoto, TableDocument } from '../contract/tables.js';
import { flushFolder } from './durable-write.js';
import { photoName } from './photo-name.js';
import { receiveFile } from './receive-file.js';
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
  return receiveFile(join(photoFolder(store, tableId), checkedId(photoId)), name, chunks, mostBytes);
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
