import type { TableDocument } from '../../server/contract/tables.js';
import type { TablesApi } from '../api/tables-api.js';
import { noConnection } from '../api/trouble.js';
import { type Edited, editedOf } from './app-state.js';
import { changedParts, mergeEdits } from './merge-edits.js';
import type { Store } from './store.js';

/** Edits are sent this long after the last one, milliseconds. */
const pauseMs = 600;
/** After a broken connection it is tried again so often, milliseconds. */
const repeatMs = 3000;
/** For a table that was left: ten minutes without a connection. */
const mostAttempts = 200;

/** Saves edits of the open table: soon after the last one, one request at a time, and again after a broken connection. */
export class Saver {
  private timer: ReturnType<typeof setTimeout> | undefined;
  private running: Promise<boolean> | null = null;

  constructor(
    private readonly store: Store,
    private readonly api: TablesApi,
    /** Called when edits are stored, with what was stored before them. */
    private readonly onStored: (before: Edited, now: Edited) => void = () => {},
  ) {}

  get busy(): boolean {
    return this.running !== null;
  }

  saveSoon(afterMs = pauseMs): void {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.saveNow(), afterMs);
  }

  /** The connection is back. */
  wake(): void {
    const saving = this.store.state.table?.saving;
    if (saving === 'failed' || saving === 'unsaved') void this.saveNow();
  }

  /** @returns true when everything is stored */
  async saveNow(): Promise<boolean> {
    clearTimeout(this.timer);
    while (this.running) await this.running;
    this.running = this.save();
    try {
      return await this.running;
    } finally {
      this.running = null;
      if (this.store.state.table?.saving === 'unsaved' && !this.store.state.table.conflict) this.saveSoon();
    }
  }

  /**
   * The open table is about to be left: what is not stored yet is sent all the same, and again as long as there is no
   * connection. To be called while it is still open.
   * @returns true when something was sent
   */
  async leave(): Promise<boolean> {
    clearTimeout(this.timer);
    const table = this.store.state.table;
    if (!table || table.saving === 'saved' || table.conflict) return false;
    const base = editedOf(table.stored);
    const edits = changedParts(base, table.edited);
    let version = table.stored.version;
    // What is on its way already changes the version, and is part of these edits.
    const wasRunning = await this.running;
    for (let attempt = 0; attempt < mostAttempts; attempt++) {
      const answer = await this.api.change(table.id, version, edits);
      if (answer.ok) return true;
      const theirs = currentOf(answer.problem.body);
      if (answer.problem.code === noConnection.code) {
        await new Promise((resolve) => setTimeout(resolve, repeatMs));
      } else if (theirs && (wasRunning !== null || !clashes(base, table.edited, theirs))) {
        version = theirs.version;
      } else {
        this.store.dispatch({ type: 'notice', text: '', trouble: answer.problem });
        return false;
      }
    }
    return false;
  }

  private async save(): Promise<boolean> {
    for (let attempt = 0; attempt < 4; attempt++) {
      const table = this.store.state.table;
      if (!table || table.saving === 'saved') return true;
      if (table.conflict) return false;
      const base = editedOf(table.stored);
      const sent = table.edited;
      this.store.dispatch({ type: 'saving', status: 'saving' });
      const answer = await this.api.change(table.id, table.stored.version, changedParts(base, sent));
      if (this.store.state.table?.id !== table.id) return answer.ok;
      if (answer.ok) {
        this.store.dispatch({ type: 'stored', document: answer.value, sent });
        this.onStored(base, sent);
        return true;
      }
      const theirs = currentOf(answer.problem.body);
      if (answer.problem.code !== 'changed-elsewhere' || !theirs) {
        this.store.dispatch({ type: 'saving', status: 'failed' });
        this.store.dispatch({ type: 'notice', text: '', trouble: answer.problem });
        if (answer.problem.code === noConnection.code) this.saveSoon(repeatMs);
        return false;
      }
      this.meet(base, theirs);
    }
    return false;
  }

  /** Another device was faster: join both where they do not touch, ask the person where they do. */
  private meet(base: Edited, theirs: TableDocument): void {
    const mine = this.store.state.table?.edited ?? base;
    const { clashes } = mergeEdits(base, mine, editedOf(theirs));
    this.store.dispatch({ type: 'stored', document: theirs });
    if (clashes.length === 0 && Object.keys(changedParts(base, editedOf(theirs))).length > 0) {
      this.store.dispatch({ type: 'notice', text: 'A change made on another device was taken in as well.' });
    }
  }
}

/** What is stored instead, where a change came too late. */
function currentOf(body: unknown): TableDocument | undefined {
  return (body as { current?: TableDocument } | undefined)?.current;
}

function clashes(base: Edited, mine: Edited, theirs: TableDocument): boolean {
  return mergeEdits(base, mine, editedOf(theirs)).clashes.length > 0;
}
