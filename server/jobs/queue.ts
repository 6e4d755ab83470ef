import { failed, ok, type Result } from '../base/result.js';
import type { Corrections } from '../contract/corrections.js';
import { type Problem, problem } from '../contract/problems.js';
import type { TableDocument, WorkState } from '../contract/tables.js';
import { saveMeasured } from '../projects/measured-store.js';
import { photoPath } from '../projects/photo-store.js';
import { inputsDigest, usedCorrections } from '../projects/table-document.js';
import type { TableStore } from '../projects/table-store.js';
import { readWorkRecord, saveWorkRecord } from '../projects/work-record.js';
import type { TableEvents } from './table-events.js';
import type { WorkProcess } from './work-process.js';

/** A measurement that was begun so often and never ended took the program down each time. */
const mostAttempts = 3;

interface Job {
  readonly tableId: string;
  readonly digest: string;
  readonly controller: AbortController;
  state: WorkState;
}

/**
 * The measurements to be done, one after the other in the order of asking. What is wanted stands on disk before it is
 * acknowledged, and is taken up again when the program starts anew.
 */
export class MeasureQueue {
  readonly #store: TableStore;
  readonly #events: TableEvents;
  readonly #process: WorkProcess;
  /** In the order of asking; the first is the one that runs. */
  readonly #jobs: Job[] = [];
  /** How the last measurement of a table ended, while the program runs. */
  readonly #ended = new Map<string, WorkState>();

  constructor(store: TableStore, events: TableEvents, process: WorkProcess) {
    this.#store = store;
    this.#events = events;
    this.#process = process;
  }

  /** Takes up again what was wanted when the program ended, oldest first. */
  async resume(): Promise<void> {
    const wanted: { id: string; since: string; attempts: number }[] = [];
    for (const id of await this.#store.ids()) {
      const record = await readWorkRecord(this.#store, id);
      if (record?.status === 'wanted') wanted.push({ id, ...record });
    }
    for (const { id, since, attempts } of wanted.sort((a, b) => a.since.localeCompare(b.since))) {
      const table = await this.#store.read(id);
      if (!table.ok) continue;
      if (attempts >= mostAttempts) await this.#end(id, failedWith(problem('work-failed', { stage: 'measure' })));
      else this.#add(table.value, since, attempts);
    }
  }

  /**
   * Asks for a table to be measured. Asking again for the same photos and settings changes nothing; with others the
   * measurement begins anew.
   * @returns the state; or unknown-table, no-photos, cannot-write
   */
  async request(tableId: string): Promise<Result<WorkState, Problem>> {
    const table = await this.#store.read(tableId);
    if (!table.ok) return table;
    if (table.value.photos.length === 0) return failed(problem('no-photos', {}));
    const running = this.#jobs.find((j) => j.tableId === tableId);
    if (running?.digest === inputsDigest(table.value)) return ok(running.state);
    const since = new Date().toISOString();
    const recorded = await saveWorkRecord(this.#store, tableId, { status: 'wanted', since, attempts: 0 });
    if (!recorded.ok) return recorded;
    // Another request may have come in while the disk was written.
    const other = this.#jobs.find((j) => j.tableId === tableId);
    if (other?.digest === inputsDigest(table.value)) return ok(other.state);
    if (other) this.#callOff(other);
    return ok(this.#add(table.value, since, 0).state);
  }

  /** Calls a measurement off; what was measured before stays. */
  async cancel(tableId: string): Promise<Result<WorkState, Problem>> {
    const table = await this.#store.read(tableId);
    if (!table.ok) return table;
    const job = this.#jobs.find((j) => j.tableId === tableId);
    if (!job) return ok(await this.state(table.value));
    this.#callOff(job);
    await this.#end(tableId, { status: 'cancelled' });
    return ok({ status: 'cancelled' });
  }

  /** Calls off whatever is to be done for a table that is being deleted. */
  forget(tableId: string): void {
    const job = this.#jobs.find((j) => j.tableId === tableId);
    if (job) this.#callOff(job);
    this.#ended.delete(tableId);
  }

  async state(table: TableDocument): Promise<WorkState> {
    const known = this.#jobs.find((j) => j.tableId === table.id)?.state ?? this.#ended.get(table.id);
    if (known) return known;
    const record = await readWorkRecord(this.#store, table.id);
    if (record?.status === 'failed') return record;
    return { status: table.measuredInputs === null ? 'none' : 'done' };
  }

  #add(table: TableDocument, since: string, attempts: number): Job {
    const job: Job = {
      tableId: table.id,
      digest: inputsDigest(table),
      controller: new AbortController(),
      state: { status: 'queued', ahead: this.#jobs.length },
    };
    this.#ended.delete(table.id);
    this.#jobs.push(job);
    this.#tellState(job, job.state);
    this.#perform(job, table, since, attempts).catch((error) => {
      if ((error as Error).name !== 'AbortError') process.stderr.write(`measuring ${job.tableId}: ${String(error)}\n`);
    });
    return job;
  }

  async #perform(job: Job, table: TableDocument, since: string, attempts: number): Promise<void> {
    const photos = table.photos.map((photo) => ({ name: photo.name, path: photoPath(this.#store, table.id, photo) }));
    const { signal } = job.controller;
    const measured = await this.#process.run(
      'measure',
      { photos, settings: table.settings, corrections: correctionsByName(table) },
      {
        signal,
        onBegin: () => {
          this.#tellState(job, {
            status: 'running',
            progress: { stage: 'photo', photo: photos[0]?.name ?? null, ratio: 0 },
          });
          saveWorkRecord(this.#store, table.id, { status: 'wanted', since, attempts: attempts + 1 }).catch(
            () => undefined,
          );
        },
        onProgress: (progress) => this.#tellState(job, { status: 'running', progress }),
      },
    );
    const saved = measured.ok ? await saveMeasured(this.#store, table.id, job.digest, measured.value) : measured;
    if (signal.aborted) return;
    this.#leave(job);
    await this.#end(table.id, saved.ok ? { status: 'done' } : failedWith(saved.problem, table));
  }

  #callOff(job: Job): void {
    this.#leave(job);
    job.controller.abort();
  }

  #leave(job: Job): void {
    const place = this.#jobs.indexOf(job);
    if (place >= 0) this.#jobs.splice(place, 1);
    for (const [ahead, other] of this.#jobs.entries()) {
      if (other.state.status === 'queued' && other.state.ahead !== ahead)
        this.#tellState(other, { status: 'queued', ahead });
    }
  }

  async #end(tableId: string, state: WorkState): Promise<void> {
    this.#ended.set(tableId, state);
    const record = state.status === 'failed' ? state : null;
    await saveWorkRecord(this.#store, tableId, record).catch(() => undefined);
    this.#events.tell(tableId, { kind: 'work', state });
  }

  #tellState(job: Job, state: WorkState): void {
    job.state = state;
    this.#events.tell(job.tableId, { kind: 'work', state });
  }
}

/** The corrections with each photo named as the measurement names it. */
function correctionsByName(table: TableDocument): Corrections {
  const { list, format } = usedCorrections(table);
  const nameOf = (id: string): string => table.photos.find((p) => p.id === id)?.name ?? id;
  return { format, list: list.map((c) => ({ ...c, photo: nameOf(c.photo) })) };
}

/** @param table as it was measured: the photos that the problem names are told, those of the same name that come later not */
function failedWith(why: Problem, table?: TableDocument): WorkState {
  const named = Object.values(why.data).join(' ');
  const photos = (table?.photos ?? []).filter((p) => named.includes(p.name)).map((p) => p.id);
  return { status: 'failed', problem: why, ...(photos.length > 0 ? { photos } : {}) };
}
