import type { Corrections } from '../../server/contract/corrections.js';
import {
  type CorrectedPhoto,
  correctedBy,
  fewestTouches,
  isComplete,
  outlinedBy,
  outlineOn,
  type Pixel,
  withCorner,
} from '../canvas/correct-by-touch.js';
import { photoInReport } from '../canvas/measured-things.js';
import type { CorrectionTool } from '../text/correction-words.js';
import type { CorrectingState, OpenTable } from './app-state.js';
import type { Store } from './store.js';

/** What a person does with the tools of correction; each finished correction becomes an edit of the table. */
export class Correcting {
  constructor(
    private readonly store: Store,
    private readonly edit: (change: { corrections: Corrections }) => void,
  ) {}

  /** Begins with a photo: the one shown, or the first that was measured. */
  start(): void {
    const table = this.store.state.table;
    const report = table?.report.value;
    if (!table || !report) return;
    const measured = table.stored.photos.filter((p) => photoInReport(report, p));
    const photo = measured.find((p) => p.id === table.picture) ?? measured[0];
    if (!photo) return;
    this.store.dispatch({ type: 'choose', thing: null });
    this.store.dispatch({ type: 'show-picture', picture: photo.id });
    this.tell({ tool: null, touched: [], corners: null, before: table.picture });
  }

  /** Corrections are made on photos alone; what they led to is looked at where one was before. */
  stop(): void {
    const now = this.now;
    this.tell(null);
    if (now) this.store.dispatch({ type: 'show-picture', picture: now.before });
  }

  choose(tool: CorrectionTool | null): void {
    const now = this.now;
    if (now) this.tell({ ...now, tool, touched: [], corners: null });
  }

  /** A place of the photo was touched. */
  touch(at: Pixel): void {
    const now = this.now;
    if (!now?.tool) return;
    const touched = [...now.touched, at];
    this.tell({ ...now, touched });
    if (isComplete(now.tool, touched)) this.finish();
  }

  takeBack(): void {
    const now = this.now;
    if (now) this.tell({ ...now, touched: now.touched.slice(0, -1) });
  }

  /** Makes a correction of the places touched; when nothing lies there, says so and waits for others. */
  finish(): void {
    const [now, on] = [this.now, this.on];
    if (!now?.tool || !on || now.touched.length < fewestTouches(now.tool)) return;
    const corrections = correctedBy(now.tool, now.touched, on, newId());
    this.tell({ ...now, touched: [] });
    if (corrections) this.edit({ corrections });
    else this.store.dispatch({ type: 'notice', text: 'Nothing lies there that could be meant. Touch another place.' });
  }

  /** A corner is on its way under a finger. */
  dragCorner(index: number, at: Pixel): void {
    const [now, on] = [this.now, this.on];
    if (now && on) this.tell({ ...now, corners: withCorner(now.corners ?? outlineOn(on), index, at) });
  }

  /** The corner is let go: now it counts. */
  dropCorner(): void {
    const [now, on] = [this.now, this.on];
    if (!now?.corners || !on) return;
    this.tell({ ...now, corners: null });
    this.edit({ corrections: outlinedBy(now.corners, on, newId()) });
  }

  remove(id: string): void {
    const corrections = this.store.state.table?.edited.corrections;
    if (corrections) this.edit({ corrections: { ...corrections, list: corrections.list.filter((c) => c.id !== id) } });
  }

  private get now(): CorrectingState | null {
    return this.store.state.table?.correcting ?? null;
  }

  private get on(): CorrectedPhoto | null {
    return this.store.state.table ? correctedPhoto(this.store.state.table) : null;
  }

  private tell(correcting: CorrectingState | null): void {
    this.store.dispatch({ type: 'correct', correcting });
  }
}

/** The photo that is shown, with what corrections on it are made from; null when no photo is shown. */
export function correctedPhoto(table: OpenTable): CorrectedPhoto | null {
  const report = table.report.value;
  const stored = table.stored.photos.find((p) => p.id === table.picture);
  const photo = stored && photoInReport(report, stored);
  return report && stored && photo
    ? { report, photo, photoId: stored.id, corrections: table.edited.corrections }
    : null;
}

function newId(): string {
  return [...crypto.getRandomValues(new Uint8Array(6))].map((b) => b.toString(16).padStart(2, '0')).join('');
}
