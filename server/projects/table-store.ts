import { mkdir, readdir, readFile, rename, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';
import { type Settings, settingsSchema, type TableDocument } from '../contract/tables.js';
import { partName, removeLeftParts, writeDurably, writing } from './durable-write.js';
import { receiveFile } from './receive-file.js';
import {
  type ChangeablePart,
  changeableParts,
  isTableId,
  newTable,
  newTableId,
  parseTable,
  publicTable,
  type StoredTable,
} from './table-document.js';
import { withTableLock } from './table-lock.js';

/** Tables in one home: a limit against a loop gone wrong on some device. */
const mostTables = 500;

/** One line of the list of tables. A table that cannot be read is listed with its problem, never left out. */
export interface TableSummary {
  readonly id: string;
  readonly name: string;
  readonly version: number;
  readonly changed: string;
  readonly sample: boolean;
  readonly photoCount: number;
  readonly problem?: Problem;
}

/** What a person changes of a table; parts that are missing stay, and so do settings that are missing. */
export type TableChange = Partial<Omit<Pick<TableDocument, ChangeablePart>, 'settings'>> & {
  settings?: Partial<Settings>;
};

/** A change that was refused because another one came first, with the table as it is now. */
export interface Refused {
  readonly problem: Problem;
  readonly current?: TableDocument;
}

/**
 * All tables of one home, each a folder that can be copied or zipped: table.json, photos/, measured/, work.json. Every
 * write is durable; writes to one table come one after the other, also between processes.
 */
export class TableStore {
  readonly #home: string;
  readonly #onChange: (table: TableDocument) => void;

  /**
   * @param home folder that holds the tables' folders; made when it is not there
   * @param onChange called after each stored change of a table
   */
  constructor(home: string, onChange: (table: TableDocument) => void = () => undefined) {
    this.#home = home;
    this.#onChange = onChange;
  }

  /** Makes the home and removes what killed processes left half-written in it. */
  async open(): Promise<Result<void, Problem>> {
    const made = await writing(() => mkdir(this.#home, { recursive: true }));
    // Where nothing can be written, tables can still be looked at.
    if (made.ok) await writing(() => removeLeftParts(this.#home));
    return made.ok ? ok(undefined) : made;
  }

  /** The folder of a table. The id must have been checked with isTableId. */
  folder(id: string): string {
    if (!isTableId(id)) throw new Error(`not a table id: ${JSON.stringify(id)}`);
    return join(this.#home, id);
  }

  async ids(): Promise<string[]> {
    const entries = await readdir(this.#home, { withFileTypes: true }).catch(() => []);
    return entries.filter((e) => e.isDirectory() && isTableId(e.name)).map((e) => e.name);
  }

  /** All tables, the last changed first. */
  async list(): Promise<TableSummary[]> {
    const summaries = await Promise.all((await this.ids()).map((id) => this.#summary(id)));
    return summaries.filter((s) => s !== null).sort((a, b) => b.changed.localeCompare(a.changed));
  }

  async #summary(id: string): Promise<TableSummary | null> {
    const table = await this.read(id);
    if (table.ok) {
      const { name, version, changed, sample, photos } = table.value;
      return { id, name, version, changed, sample, photoCount: photos.length };
    }
    if (table.problem.code === 'unknown-table') return null;
    return { id, name: id, version: 0, changed: '', sample: false, photoCount: 0, problem: table.problem };
  }

  /** @returns the table, or unknown-table, table-damaged or newer-format */
  async read(id: string): Promise<Result<TableDocument, Problem>> {
    const stored = await this.#readStored(id);
    return stored.ok ? ok(publicTable(stored.value)) : stored;
  }

  async #readStored(id: string): Promise<Result<StoredTable, Problem>> {
    if (!isTableId(id)) return failed(problem('unknown-table', { id: id.slice(0, 64) }));
    try {
      return parseTable(id, await readFile(join(this.folder(id), 'table.json'), 'utf8'));
    } catch {
      return failed(problem('unknown-table', { id }));
    }
  }

  /** Makes a new table. Its folder appears under its name only when it is complete. */
  async create(name: string, sample = false): Promise<Result<TableDocument, Problem>> {
    if ((await this.ids()).length >= mostTables) return failed(problem('too-many-tables', { most: mostTables }));
    return writing(async () => {
      const table = newTable(newTableId(name), name, sample, new Date());
      const beside = partName(join(this.#home, `.${table.id}`));
      await mkdir(this.#home, { recursive: true });
      await mkdir(beside);
      await mkdir(join(beside, 'photos'));
      await writeDurably(join(beside, 'table.json'), `${JSON.stringify(table, null, 1)}\n`);
      await rename(beside, this.folder(table.id));
      return publicTable(table);
    });
  }

  /**
   * Changes what a person may change. A part that was changed by someone else after `version` is never overwritten:
   * then the change is refused as a whole with changed-elsewhere. Changes of different parts go together.
   */
  async change(id: string, version: number, change: TableChange): Promise<Result<TableDocument, Refused>> {
    const changed = await this.update(id, (table) => {
      const parts = changeableParts.filter((part) => change[part] !== undefined);
      const overtaken = parts.some((part) => (table.partVersions[part] ?? 0) > version);
      if (overtaken || version > table.version) {
        return failed(problem('changed-elsewhere', { yours: version, theirs: table.version }));
      }
      const next = table.version + 1;
      const partVersions = { ...table.partVersions, ...Object.fromEntries(parts.map((part) => [part, next])) };
      const settings = settingsSchema.parse({ ...table.settings, ...change.settings });
      return ok({ ...table, ...change, settings, partVersions });
    });
    if (changed.ok) return changed;
    if (changed.problem.code !== 'changed-elsewhere') return failed({ problem: changed.problem });
    const current = await this.read(id);
    return failed({ problem: changed.problem, ...(current.ok ? { current: current.value } : {}) });
  }

  /** Changes a table under its lock; the version grows by one. For changes that cannot overwrite a person's. */
  async update(
    id: string,
    change: (table: StoredTable) => Result<StoredTable, Problem> | Promise<Result<StoredTable, Problem>>,
  ): Promise<Result<TableDocument, Problem>> {
    const there = await this.#readStored(id);
    if (!there.ok) return there;
    const outcome = await writing(() =>
      withTableLock(this.folder(id), async (): Promise<Result<TableDocument, Problem>> => {
        const stored = await this.#readStored(id);
        if (!stored.ok) return stored;
        const changed = await change(stored.value);
        if (!changed.ok) return changed;
        if (changed.value === stored.value) return ok(publicTable(stored.value));
        const next = { ...changed.value, version: stored.value.version + 1, changed: new Date().toISOString() };
        await writeDurably(join(this.folder(id), 'table.json'), `${JSON.stringify(next, null, 1)}\n`);
        this.#onChange(publicTable(next));
        return ok(publicTable(next));
      }),
    );
    return outcome.ok ? outcome.value : outcome;
  }

  /**
   * Takes in a file that is to become a table; it counts for nothing, and is removed at the next start if it is left.
   * @returns where it lies; or file-too-large, upload-broken-off, cannot-write
   */
  async receiveFile(
    name: string,
    chunks: AsyncIterable<Uint8Array>,
    mostBytes: number,
  ): Promise<Result<string, Problem>> {
    const received = await receiveFile(join(this.#home, '.arriving'), name, chunks, mostBytes);
    return received.ok ? ok(received.value.partPath) : received;
  }

  /** Deletes a table with everything in it. */
  async remove(id: string): Promise<Result<void, Problem>> {
    const there = isTableId(id) && (await this.ids()).includes(id);
    if (!there) return failed(problem('unknown-table', { id: id.slice(0, 64) }));
    return writing(async () => {
      const aside = partName(join(this.#home, `.${id}`));
      await rename(this.folder(id), aside);
      await rm(aside, { recursive: true, force: true });
    });
  }
}
