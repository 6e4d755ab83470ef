import { existsSync, readFileSync } from 'node:fs';
import { homedir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { problemLine } from './contract/problems.js';
import { createApp } from './http/app.js';
import { loopbackNames } from './http/guard.js';
import { homeAddresses, homeNames } from './http/home-names.js';
import { firstPort, lastPort, listen, portOf } from './http/listen.js';
import { type HomeNetwork, pairingNote } from './http/pairing.js';
import { PairingCode } from './http/pairing-code.js';
import { PhotoViews } from './jobs/photo-views.js';
import { TablePlanner } from './jobs/plan-table.js';
import { MeasureQueue } from './jobs/queue.js';
import { TableEvents } from './jobs/table-events.js';
import { defaultWorkProcessOptions, WorkProcess } from './jobs/work-process.js';
import { DeviceStore } from './projects/device-store.js';
import { TableStore } from './projects/table-store.js';

export interface StartOptions {
  /** The port to use, or null for the first free one. */
  readonly port: number | null;
  /** Whether other devices on the home network are let in, each with a pairing code. */
  readonly homeNetwork?: boolean;
  /** Folder of the tables; GAPWRIGHT_HOME, or one in the user's home folder, where it is missing. */
  readonly home?: string;
}

export type Started =
  | { readonly ok: true; readonly address: string; readonly note: string; close(): Promise<void> }
  | { readonly ok: false; readonly line: string };

/** Puts the server together and starts it: for this computer alone, or for paired devices of the home network too. */
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
  let port = options.port ?? firstPort;
  const network = options.homeNetwork ? await openHomeNetwork(home, () => port) : null;
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
    network === null ? loopbackNames : [...loopbackNames, ...homeNames()],
    network,
  );
  const server = await listen(app, options.port, network === null ? '127.0.0.1' : '0.0.0.0');
  if (server === null) {
    const which = options.port === null ? `${firstPort} to ${lastPort}` : String(options.port);
    const line = `Port ${which} is in use. Stop the other program, or choose a port: PORT=5000 npm start`;
    return { ok: false, line };
  }
  port = portOf(server);
  await queue.resume();
  return {
    ok: true,
    address: `http://127.0.0.1:${port}/`,
    note: network === null ? '' : await pairingNote(network),
    close: () => {
      for (const work of Object.values(processes)) work.close();
      return new Promise((done) => {
        server.close(() => done());
        server.closeAllConnections();
      });
    },
  };
}

/** What is needed to let other devices in. Paired devices are remembered in a file beside the tables. */
async function openHomeNetwork(home: string, port: () => number): Promise<HomeNetwork> {
  const devices = new DeviceStore(join(home, 'devices.json'));
  await devices.open();
  const address = (): string | null => {
    const [first] = homeAddresses();
    return first === undefined ? null : `http://${first}:${port()}/`;
  };
  return { devices, code: new PairingCode(), address };
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
