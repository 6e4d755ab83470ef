import type { WorkState } from '../../server/contract/tables.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import { listenToTable } from '../api/table-events.js';
import { type TablesApi, tablesApi } from '../api/tables-api.js';
import type { Trouble } from '../api/trouble.js';
import { newPhotoId } from '../api/upload-photo.js';
import type { StepId } from '../text/steps.js';
import { type Edited, nothingYet } from './app-state.js';
import { Correcting } from './correcting.js';
import { same } from './merge-edits.js';
import { addressOf, placeOf } from './place.js';
import { rememberedLengthStyle, rememberLengthStyle } from './remembered.js';
import { Results } from './results.js';
import { Saver } from './saver.js';
import { Store } from './store.js';
import { UploadQueue } from './upload-queue.js';

/** The settings without the way in which lengths are written. */
function measuredBy({ settings }: Edited): unknown {
  return { ...settings, unit: null, denominator: null };
}

/** Carries out what a person does: asks the server and tells the store. One for the whole page. */
export class Session {
  readonly store = new Store();
  private readonly uploads = new UploadQueue(this.store, () => this.refreshTable());
  /** The tools of correction by hand. */
  readonly correcting = new Correcting(this.store, (change) => this.edit(change));
  private readonly saver: Saver;
  private readonly results: Results;
  private stopListening = (): void => {};
  private listeningTo: string | null = null;
  /** What the stream last said of the table that is listened to. */
  private heard: WorkState | null = null;
  /** The table that was being measured when last heard of. */
  private working: string | null = null;
  /** The sample measures itself and moves on to the plan without another click. */
  private readonly goOnWhenMeasured = new Set<string>();

  constructor(private readonly api: TablesApi = tablesApi) {
    this.saver = new Saver(this.store, api, (before, now) => this.noteStored(before, now));
    this.results = new Results(this.store, api);
  }

  start(): void {
    const style = rememberedLengthStyle();
    if (style) this.store.dispatch({ type: 'length-style', style });
    window.addEventListener('hashchange', () => this.follow());
    window.addEventListener('online', () => void this.refreshTable().then(() => this.saver.wake()));
    window.addEventListener('beforeunload', () => void this.saver.saveNow());
    // A phone tells no more than this before it puts the page away.
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'hidden') void this.saver.saveNow();
    });
    this.follow();
  }

  goTo(table: string | null, step: StepId | null = null): void {
    location.hash = addressOf({ table, step });
  }

  async listTables(): Promise<void> {
    const before = this.store.state.tables;
    this.store.dispatch({ type: 'tables', tables: { ...before, status: 'loading', trouble: null } });
    const answer = await this.api.list();
    this.store.dispatch({
      type: 'tables',
      tables: answer.ok
        ? { status: 'ready', value: answer.value.tables, trouble: null }
        : { ...before, status: 'failed', trouble: answer.problem },
    });
  }

  /** @returns false when it could not be made; the trouble is then in the notice */
  async newTable(name: string): Promise<boolean> {
    const answer = await this.api.make({ name });
    if (!answer.ok) return this.fail(answer.problem);
    this.goTo(answer.value.id, 'sheet');
    return true;
  }

  /** Makes a copy of the sample table, measures it and goes on to its plan. */
  async trySample(): Promise<boolean> {
    const answer = await this.api.make({ sample: true });
    if (!answer.ok) return this.fail(answer.problem);
    const id = answer.value.id;
    this.goOnWhenMeasured.add(id);
    this.goTo(id, 'photos');
    const work = await this.api.measure(id);
    if (!work.ok) return this.fail(work.problem);
    this.hearWork(id, work.value);
    return true;
  }

  async removeTable(id: string): Promise<void> {
    const answer = await this.api.remove(id);
    if (!answer.ok) this.fail(answer.problem);
    await this.listTables();
  }

  addPhotos(files: readonly File[]): void {
    const table = this.store.state.table;
    if (!table) return;
    for (const file of files) this.uploads.add(table.id, { id: newPhotoId(), name: file.name || 'photo.jpg', file });
  }

  repeatUpload(id: string): void {
    this.uploads.repeat(id);
  }

  forgetUpload(id: string): void {
    this.uploads.forget(id);
  }

  async removePhoto(photo: string): Promise<void> {
    const table = this.store.state.table;
    if (!table) return;
    const answer = await this.api.removePhoto(table.id, photo);
    if (!answer.ok) this.fail(answer.problem);
    await this.refreshTable();
  }

  /** @param gesture names a drag, so that all of it is one step of undo */
  edit(change: Partial<Edited>, gesture?: string): void {
    this.store.dispatch({ type: 'edit', change, gesture });
    this.saver.saveSoon();
  }

  undo(): void {
    this.store.dispatch({ type: 'undo' });
    this.saver.saveSoon();
  }

  redo(): void {
    this.store.dispatch({ type: 'redo' });
    this.saver.saveSoon();
  }

  /** Ends a conflict with another device: theirs replaces what is here, or mine is saved on top of it. */
  settle(which: 'theirs' | 'mine'): void {
    const table = this.store.state.table;
    if (!table?.conflict) return;
    if (which === 'theirs') this.store.dispatch({ type: 'stored', document: table.stored, takeTheirs: true });
    else {
      this.store.dispatch({ type: 'stored', document: table.stored, keepMine: true });
      this.saver.saveSoon();
    }
  }

  /** One switch for the whole tool; a table carries it along to other devices. */
  setLengthStyle(style: LengthStyle): void {
    this.store.dispatch({ type: 'length-style', style });
    rememberLengthStyle(style);
    const table = this.store.state.table;
    if (table) this.edit({ settings: { ...table.edited.settings, unit: style.unit, denominator: style.denominator } });
  }

  async measure(): Promise<void> {
    const table = this.store.state.table;
    if (!table || !(await this.saver.saveNow())) return;
    const answer = await this.api.measure(table.id);
    if (answer.ok) this.hearWork(table.id, answer.value);
    else this.fail(answer.problem);
  }

  async cancelMeasuring(): Promise<void> {
    const table = this.store.state.table;
    if (!table) return;
    const answer = await this.api.cancel(table.id);
    if (answer.ok) this.hearWork(table.id, answer.value);
    else this.fail(answer.problem);
  }

  async makePlan(): Promise<void> {
    if (this.store.state.table && (await this.saver.saveNow())) await this.results.makePlan();
  }

  loadPlanned(): Promise<void> {
    return this.results.loadPlanned();
  }

  loadReportBefore(): Promise<void> {
    return this.results.loadReportBefore();
  }

  choose(thing: string | null): void {
    this.store.dispatch({ type: 'choose', thing });
  }

  showPicture(picture: string): void {
    this.store.dispatch({ type: 'show-picture', picture });
  }

  /** Asks for the open table again, after a change elsewhere or a broken connection. */
  async refreshTable(): Promise<void> {
    const id = this.store.state.place.table;
    if (!id) return;
    const answer = await this.api.open(id);
    if (this.store.state.place.table !== id) return;
    if (!answer.ok) {
      if (!this.store.state.table) this.store.dispatch({ type: 'not-opened', trouble: answer.problem });
      return;
    }
    // The stream's news is newer than an answer that was on its way.
    const work = this.heard ?? answer.value.work;
    this.store.dispatch({ type: 'opened', opened: { ...answer.value, work } });
    this.noteWork(id, work);
    const { unit, denominator } = answer.value.table.settings;
    this.store.dispatch({ type: 'length-style', style: { unit, denominator } });
    if (answer.value.measured && this.store.state.table?.report.status === 'none') void this.results.load();
  }

  /** Whether what was measured is out of date the server knows: it is asked when something that is measured by changed. */
  private noteStored(before: Edited, now: Edited): void {
    if (this.store.state.table?.measured && !same(measuredBy(before), measuredBy(now))) void this.refreshTable();
  }

  private follow(): void {
    const place = placeOf(location.hash);
    const left = this.store.state.table?.id === place.table ? null : this.saver.leave();
    this.store.dispatch({ type: 'went', place });
    if (place.table === null) {
      this.listen(null);
      void this.listTables();
      // The list may have been answered before what was left was stored.
      void left?.then((sent) => (sent && this.store.state.place.table === null ? this.listTables() : undefined));
    } else if (this.listeningTo !== place.table) {
      this.listen(place.table);
      void this.refreshTable().then(() => this.uploads.takeUp(place.table as string));
    }
  }

  private listen(table: string | null): void {
    this.stopListening();
    this.listeningTo = table;
    this.heard = null;
    if (!table) {
      this.stopListening = () => {};
      return;
    }
    this.stopListening = listenToTable(table, {
      onWork: (work) => this.hearWork(table, work),
      onVersion: (version) => {
        const stored = this.store.state.table?.stored;
        if (stored?.id === table && version > stored.version && !this.saver.busy) void this.refreshTable();
      },
      onConnection: (open) => {
        const wasOpen = this.store.state.connected;
        this.store.dispatch({ type: 'connection', open });
        if (open && !wasOpen) void this.refreshTable();
        if (open) this.uploads.wake();
        if (open) this.saver.wake();
      },
    });
  }

  private hearWork(table: string, work: WorkState): void {
    this.heard = work;
    this.store.dispatch({ type: 'work', table, work });
    this.noteWork(table, work);
  }

  /** Goes on when measuring has ended, whichever way the news came: the stream, or an answer after a break. */
  private noteWork(table: string, work: WorkState): void {
    const worked = this.working === table;
    this.working = work.status === 'queued' || work.status === 'running' ? table : null;
    if (!worked || work.status !== 'done') return;
    const report = { ...(this.store.state.table?.report ?? nothingYet), status: 'none' } as const;
    this.store.dispatch({ type: 'loaded', table, part: { report, measured: true } });
    this.store.dispatch({ type: 'notice', text: 'Measured.' });
    const sample = this.goOnWhenMeasured.delete(table);
    // Any other table keeps the plan of before until its fillers are asked for: a check compares with it.
    void this.refreshTable().then(() => (sample ? this.results.makePlan() : undefined));
    if (sample) this.goTo(table, 'measured');
  }

  private fail(trouble: Trouble): false {
    this.store.dispatch({ type: 'notice', text: '', trouble });
    return false;
  }
}
