import type { WorkState } from '../../server/contract/tables.js';
import { eventsUrl } from './tables-api.js';

export interface TableEventHandlers {
  readonly onWork: (work: WorkState) => void;
  /** Somebody stored a change: this device or another. */
  readonly onVersion: (version: number) => void;
  /** True when the stream is open, false while it is broken and being tried again. */
  readonly onConnection: (open: boolean) => void;
}

/** Listens to what happens to one table. @returns a function that stops listening */
export function listenToTable(table: string, handlers: TableEventHandlers): () => void {
  let source: EventSource;
  let retry: ReturnType<typeof setTimeout> | undefined;
  const connect = (): void => {
    source = new EventSource(eventsUrl(table));
    source.addEventListener('open', () => handlers.onConnection(true));
    source.addEventListener('work', (event) => handlers.onWork(JSON.parse(event.data) as WorkState));
    source.addEventListener('table', (event) =>
      handlers.onVersion((JSON.parse(event.data) as { version: number }).version),
    );
    source.addEventListener('error', () => {
      handlers.onConnection(false);
      // The browser itself repeats a broken stream, but gives up after a refusal such as a restart's error page.
      if (source.readyState === EventSource.CLOSED) retry = setTimeout(connect, 2000);
    });
  };
  connect();
  return () => {
    clearTimeout(retry);
    source.close();
  };
}
