import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Hono } from 'hono';
import type { TableDocument, WorkState } from '../../server/contract/tables.js';
import { createApp } from '../../server/http/app.js';
import { loopbackNames } from '../../server/http/guard.js';
import type { HomeNetwork } from '../../server/http/pairing.js';
import { PhotoViews } from '../../server/jobs/photo-views.js';
import { TablePlanner } from '../../server/jobs/plan-table.js';
import { MeasureQueue } from '../../server/jobs/queue.js';
import { TableEvents } from '../../server/jobs/table-events.js';
import { defaultWorkProcessOptions, WorkProcess } from '../../server/jobs/work-process.js';
import { TableStore } from '../../server/projects/table-store.js';

import { ovalReport } from './bench-plans.js';

const root = fileURLToPath(new URL('../..', import.meta.url));

/** The real worker, as it is built. */
export const builtWorker = join(root, '.build/server/jobs/worker.js');
/** A worker that does what the photo's name says: done, slow, hang, exit, kill, throw, blind. */
export const scriptedWorker = join(root, 'tests/support/workers/scripted-worker.mjs');

export interface ServerUnderTest {
  readonly app: Hono;
  readonly home: string;
  /** Where the scripted worker writes the corrections that it was given. */
  readonly toldFile: string;
  readonly store: TableStore;
  readonly queue: MeasureQueue;
  readonly events: TableEvents;
  /** The process in which plans are made. */
  readonly planning: WorkProcess;
  /** Asks with a JSON body, or none, and reads the JSON answer. */
  ask<T = Record<string, never>>(method: string, path: string, body?: unknown): Promise<{ status: number; body: T }>;
  /** Makes a table. */
  newTable(name?: string): Promise<TableDocument>;
  /** Sends bytes as a photo. */
  send(
    tableId: string,
    photoId: string,
    name: string,
    bytes: Uint8Array,
  ): Promise<{ status: number; body: PhotoAnswer }>;
  /** Waits until the work on a table is no longer queued or running. */
  workDone(tableId: string): Promise<WorkState>;
  close(keepHome?: boolean): void;
}

export interface PhotoAnswer {
  readonly id: string;
  readonly name: string;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly problem: { readonly code: string; readonly data: Record<string, unknown> };
  readonly text: { readonly sentence: string; readonly nextStep: string };
}

export interface ServerOptions {
  readonly home?: string;
  readonly workerPath?: string;
  readonly limitMs?: number;
  readonly hostNames?: readonly string[];
  readonly homeNetwork?: (home: string) => HomeNetwork;
}

/** Puts the server together in this process, without a socket, in a folder of its own. */
export async function serverUnderTest(options: ServerOptions = {}): Promise<ServerUnderTest> {
  const home = options.home ?? mkdtempSync(join(tmpdir(), 'gapwright-home-'));
  const workerPath = options.workerPath ?? builtWorker;
  if (!existsSync(workerPath)) throw new Error(`not built: ${workerPath}`);
  const reportFile = join(home, '.report-of-scripted-worker.json');
  writeFileSync(reportFile, JSON.stringify(ovalReport([50.8, 50.8])));
  process.env['REPORT_OF_SCRIPTED_WORKER'] = reportFile;
  const toldFile = join(home, '.told-to-scripted-worker.json');
  process.env['TOLD_TO_SCRIPTED_WORKER'] = toldFile;
  const events = new TableEvents();
  const store = new TableStore(home, ({ id, version }) => events.tell(id, { kind: 'table', version }));
  const opened = await store.open();
  if (!opened.ok) throw new Error(opened.problem.code);
  const limitMs = options.limitMs ?? defaultWorkProcessOptions.limitMs;
  const newProcess = (path: string): WorkProcess =>
    new WorkProcess({ ...defaultWorkProcessOptions, limitMs, workerPath: path });
  // Plans are always made by the real worker: they need no photo.
  const processes = [newProcess(workerPath), newProcess(builtWorker), newProcess(workerPath)] as const;
  const queue = new MeasureQueue(store, events, processes[0]);
  const services = {
    store,
    events,
    queue,
    planner: new TablePlanner(store, processes[1]),
    views: new PhotoViews(store, processes[2]),
    samplesFolder: join(root, 'samples'),
    pageFolder: join(root, '.build/web'),
  };
  const app = createApp(services, options.hostNames ?? loopbackNames, options.homeNetwork?.(home) ?? null);

  async function ask<T>(method: string, path: string, body?: unknown): Promise<{ status: number; body: T }> {
    const text = body === undefined ? undefined : typeof body === 'string' ? body : JSON.stringify(body);
    const answer = await app.request(path, { method, body: text });
    const said = await answer.text();
    return { status: answer.status, body: (said === '' ? {} : JSON.parse(said)) as T };
  }

  return {
    app,
    home,
    toldFile,
    store,
    queue,
    events,
    planning: processes[1],
    ask,
    newTable: async (name) =>
      (await ask<TableDocument>('POST', '/api/tables', name === undefined ? {} : { name })).body,
    send: async (tableId, photoId, name, bytes) => {
      const path = `/api/tables/${tableId}/photos/${photoId}?name=${encodeURIComponent(name)}`;
      const answer = await app.request(path, { method: 'PUT', body: new Uint8Array(bytes) });
      return { status: answer.status, body: (await answer.json()) as PhotoAnswer };
    },
    workDone: async (tableId) => {
      for (;;) {
        const { work } = (await ask<{ work: WorkState }>('GET', `/api/tables/${tableId}`)).body;
        if (work.status !== 'queued' && work.status !== 'running') return work;
        await new Promise((resume) => setTimeout(resume, 20));
      }
    },
    close: (keepHome = false) => {
      for (const work of processes) work.close();
      if (!keepHome) rmSync(home, { recursive: true, force: true });
    },
  };
}
