import { existsSync, readFileSync } from 'node:fs';
import type { Server } from 'node:http';
import { homedir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { serve } from '@hono/node-server';
import { problemLine } from './contract/problems.js';
import { createApp } from './http/app.js';
import { loopbackNames } from './http/guard.js';
import { PhotoViews } from './jobs/photo-views.js';
import { TablePlanner } from './jobs/plan-table.js';
import { MeasureQueue } from './jobs/queue.js';
import { TableEvents } from './jobs/table-events.js';
import { defaultWorkProcessOptions, WorkProcess } from './jobs/work-process.js';
import { TableStore } from './projects/table-store.js';

/** The first port that is tried; no well-known service uses it. */
const firstPort = 4870;
/** How many more are tried when it is taken. */
const portsTried = 20;

export interface StartOptions {
  /** The port to use, or null for the first free one. */
  readonly port: number | null;
  /** Folder of the tables; GAPWRIGHT_HOME, or one in the user's home folder, where it is missing. */
  readonly home?: string;
}

export type Started =
  | { readonly ok: true; readonly address: string; close(): Promise<void> }
  | { readonly ok: false; readonly line: string };

/** Puts the server together and starts it, on this computer alone. */
export async function startServer(options: StartOptions): Promise<Started> {
  if (options.port !== null && !(Number.isInteger(options.port) && options.port >= 0 && options.port < 65536)) {
    return { ok: false, line: 'The port must be a number from 0 to 65535.' };
  }
  const home = options.home ?? process.env['GAPWRIGHT_HOME'] ?? join(homedir(), '.gapwright', 'tables');
  const events = new TableEvents();
  const store = new TableStore(home, ({ id, version }) => events.tell(id, { kind: 'table', version }));
  const opened = await store.open();
  if (!opened.ok) return { ok: false, line: `${home}: ${problemLine(opened.problem)}` };

  const workerPath = fileURLToPath(new URL('./jobs/worker.js', import.meta.url));
  const newProcess = (): WorkProcess => new WorkProcess({ ...defaultWorkProcessOptions, workerPath });
  const processes = { measuring: newProcess(), planning: newProcess(), photos: newProcess() };
  const queue = new MeasureQueue(store, events, processes.measuring);
  const root = projectRoot();
  const app = createApp(
    {
      store,
      events,
      queue,
      planner: new TablePlanner(store, processes.planning),
      views: new PhotoViews(store, processes.photos),
      samplesFolder: join(root, 'samples'),
      pageFolder: join(root, '.build', 'web'),
    },
    loopbackNames,
  );
  const server = await listen((port) => serveOn(app.fetch, port), options.port);
  if (server === null) {
    const which = options.port === null ? `${firstPort} to ${firstPort + portsTried}` : String(options.port);
    return {
      ok: false,
      line: `Port ${which} is in use. Stop the other program, or choose a port: PORT=5000 npm start`,
    };
  }
  await queue.resume();
  const bound = server.address();
  const port = typeof bound === 'object' && bound ? bound.port : options.port;
  return {
    ok: true,
    address: `http://127.0.0.1:${port}/`,
    close: () => {
      for (const work of Object.values(processes)) work.close();
      return new Promise((done) => {
        server.close(() => done());
        server.closeAllConnections();
      });
    },
  };
}

function serveOn(fetch: (request: Request) => Response | Promise<Response>, port: number): Promise<Server> {
  return new Promise((resolve, reject) => {
    const server = serve({ fetch, port, hostname: '127.0.0.1', autoCleanupIncoming: true }, () =>
      resolve(server),
    ) as Server;
    server.once('error', reject);
    // Slow senders and floods of connections are held off; a photo over a weak radio link still has its minutes.
    server.headersTimeout = 15_000;
    server.requestTimeout = 10 * 60_000;
    server.maxConnections = 200;
  });
}

/** Listens on the wished port, or on the first free one. @returns null when it is taken, or none is free */
async function listen(serveOnPort: (port: number) => Promise<Server>, wished: number | null): Promise<Server | null> {
  const ports = wished === null ? Array.from({ length: portsTried + 1 }, (_, i) => firstPort + i) : [wished];
  for (const port of ports) {
    try {
      return await serveOnPort(port);
    } catch (error) {
      const code = (error as NodeJS.ErrnoException).code;
      if (code !== 'EADDRINUSE' && code !== 'EACCES') throw error;
    }
  }
  return null;
}

/** The project's folder: sources and the built program lie at different depths below it. */
function projectRoot(): string {
  let folder = dirname(fileURLToPath(import.meta.url));
  for (;;) {
    const file = join(folder, 'package.json');
    if (existsSync(file) && JSON.parse(readFileSync(file, 'utf8')).name === 'gapwright') return folder;
    if (dirname(folder) === folder) throw new Error('the project folder was not found');
    folder = dirname(folder);
  }
}
