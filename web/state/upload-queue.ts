import { uploadPhoto } from '../api/upload-photo.js';
import type { Upload } from './app-state.js';
import { dropFile, type KeptFile, keepFile, keptFiles } from './kept-files.js';
import type { Store } from './store.js';

/** Photos sent at the same time; more only share the same connection. */
const atOnce = 2;
/** Wait before a broken transfer is repeated, milliseconds. */
const repeatMs = 3000;

/** Sends photos one after the other, repeats broken transfers, and keeps every file until the server has it. */
export class UploadQueue {
  private readonly files = new Map<string, KeptFile>();
  private readonly uploads = new Map<string, Upload>();
  private readonly sending = new Set<string>();

  constructor(
    private readonly store: Store,
    private readonly onArrived: () => Promise<void>,
  ) {}

  add(table: string, photo: { readonly id: string; readonly name: string; readonly file: Blob }): void {
    const kept: KeptFile = { table, id: photo.id, name: photo.name, file: photo.file };
    void keepFile(kept);
    this.enqueue(kept);
    this.wake();
  }

  /** Goes on with photos that an earlier visit of this page could not send. */
  async takeUp(table: string): Promise<void> {
    for (const kept of await keptFiles(table)) if (!this.files.has(kept.id)) this.enqueue(kept);
    for (const [id, upload] of this.uploads) if (this.files.get(id)?.table === table) this.show(upload);
    this.wake();
  }

  repeat(id: string): void {
    const upload = this.uploads.get(id);
    if (!upload) return;
    this.show({ ...upload, status: 'waiting', ratio: 0, trouble: null });
    this.wake();
  }

  /** The person no longer wants it. */
  forget(id: string): void {
    const table = this.files.get(id)?.table ?? '';
    this.files.delete(id);
    this.uploads.delete(id);
    void dropFile(id);
    this.store.dispatch({ type: 'upload-gone', table, id });
  }

  /** Starts as many transfers as may run; called again when the connection is back. */
  wake(): void {
    for (const upload of this.uploads.values()) {
      if (this.sending.size >= atOnce) return;
      if (upload.status === 'waiting' || upload.status === 'failed') void this.send(upload);
    }
  }

  private enqueue(kept: KeptFile): void {
    this.files.set(kept.id, kept);
    const { id, name, file } = kept;
    this.show({ id, name, bytes: file.size, status: 'waiting', ratio: 0, trouble: null });
  }

  private async send(upload: Upload): Promise<void> {
    const kept = this.files.get(upload.id);
    if (!kept || this.sending.has(upload.id)) return;
    this.sending.add(upload.id);
    this.show({ ...upload, status: 'sending', ratio: 0, trouble: null });
    const answer = await uploadPhoto(kept.table, kept, (ratio) =>
      this.show({ ...upload, status: 'sending', ratio, trouble: null }),
    );
    this.sending.delete(upload.id);
    if (!this.files.has(upload.id)) return;
    if (answer.ok) {
      await this.onArrived();
      this.forget(upload.id);
    } else if (answer.problem.code === 'no-connection') {
      this.show({ ...upload, status: 'failed', ratio: 0, trouble: answer.problem });
      setTimeout(() => this.wake(), repeatMs);
      return;
    } else {
      this.show({ ...upload, status: 'refused', ratio: 0, trouble: answer.problem });
    }
    this.wake();
  }

  private show(upload: Upload): void {
    this.uploads.set(upload.id, upload);
    this.store.dispatch({ type: 'upload', table: this.files.get(upload.id)?.table ?? '', upload });
  }
}
