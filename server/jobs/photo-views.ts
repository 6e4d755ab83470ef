import { readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { failed, ok, type Result } from '../base/result.js';
import { type PhotoLook, photoLookSchema } from '../contract/photo-look.js';
import { type Problem, problem } from '../contract/problems.js';
import { writeDurably, writing } from '../projects/durable-write.js';
import { photoPath } from '../projects/photo-store.js';
import { isPhotoId } from '../projects/table-document.js';
import type { TableStore } from '../projects/table-store.js';
import type { Tasks } from './tasks.js';
import type { WorkProcess } from './work-process.js';

/** Widths at which photos are shown, px: a phone's screen, a laptop's, close up, closer up. */
export const viewWidths = [800, 1600, 2400, 4096] as const;

/** Reduced upright pictures of photos, made when first asked for and kept in the table's folder `views`. */
export class PhotoViews {
  readonly #store: TableStore;
  readonly #process: WorkProcess;
  readonly #making = new Map<string, Promise<Result<unknown, Problem>>>();
  readonly #looking = new Map<string, Promise<Result<PhotoLook, Problem>>>();

  constructor(store: TableStore, process: WorkProcess) {
    this.#store = store;
    this.#process = process;
  }

  /**
   * Opens a file that arrived for a photo, to the last pixel, and keeps a first reduced picture of it.
   * @returns its upright size; or not-a-photo, photo-damaged, photo-too-small, photo-too-large, work-failed
   */
  check(
    tableId: string,
    photoId: string,
    name: string,
    path: string,
  ): Promise<Result<Tasks['reduce-photo']['output'], Problem>> {
    const viewPath = this.#path(tableId, photoId, 1600);
    return this.#process.run('reduce-photo', { name, path, viewPath, mostWidthPx: 1600 });
  }

  /**
   * The file of a photo reduced to at least the asked width, or to the largest width there is.
   * @returns its path; or unknown-table, unknown-photo, photo-damaged, work-failed
   */
  async view(tableId: string, photoId: string, widthPx: number): Promise<Result<string, Problem>> {
    const table = await this.#store.read(tableId);
    if (!table.ok) return table;
    const photo = isPhotoId(photoId) ? table.value.photos.find((p) => p.id === photoId) : undefined;
    if (!photo) return failed(problem('unknown-photo', { id: photoId.slice(0, 40) }));
    const mostWidthPx = viewWidths.find((w) => w >= widthPx) ?? viewWidths[viewWidths.length - 1];
    const viewPath = this.#path(tableId, photoId, mostWidthPx ?? 4096);
    if (await isFile(viewPath)) return ok(viewPath);
    const input = {
      name: photo.name,
      path: photoPath(this.#store, tableId, photo),
      viewPath,
      mostWidthPx: mostWidthPx ?? 4096,
    };
    const making = this.#making.get(viewPath) ?? this.#process.run('reduce-photo', input);
    this.#making.set(viewPath, making);
    const made = await making.finally(() => this.#making.delete(viewPath));
    return made.ok ? ok(viewPath) : made;
  }

  /**
   * What can be told of a photo before it is measured; kept, for it does not change.
   * @returns the judgement; or unknown-table, unknown-photo, photo-damaged, work-failed
   */
  async look(tableId: string, photoId: string): Promise<Result<PhotoLook, Problem>> {
    const table = await this.#store.read(tableId);
    if (!table.ok) return table;
    const photo = isPhotoId(photoId) ? table.value.photos.find((p) => p.id === photoId) : undefined;
    if (!photo) return failed(problem('unknown-photo', { id: photoId.slice(0, 40) }));
    const path = join(this.#store.folder(tableId), 'views', `${photoId}-look.json`);
    const kept = await readFile(path, 'utf8').catch(() => null);
    const known = kept === null ? null : photoLookSchema.safeParse(parsedOrNull(kept));
    if (known?.success) return ok(known.data);
    const input = { name: photo.name, path: photoPath(this.#store, tableId, photo), settings: table.value.settings };
    const looking = this.#looking.get(path) ?? this.#process.run('look-at-photo', input);
    this.#looking.set(path, looking);
    const look = await looking.finally(() => this.#looking.delete(path));
    // Without room on the disk it is looked at again next time.
    if (look.ok) await writing(() => writeDurably(path, JSON.stringify(look.value)));
    return look;
  }

  #path(tableId: string, photoId: string, widthPx: number): string {
    return join(this.#store.folder(tableId), 'views', `${photoId}-${widthPx}.jpg`);
  }
}

function parsedOrNull(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}

async function isFile(path: string): Promise<boolean> {
  return (await stat(path).catch(() => null))?.isFile() ?? false;
}
