import type { WorkState } from '../contract/tables.js';

/** What devices that look at a table are told as it happens. */
export type TableEvent =
  | { readonly kind: 'work'; readonly state: WorkState }
  | { readonly kind: 'table'; readonly version: number };

type Listener = (event: TableEvent) => void;

/** Hands what happens to a table to everybody who looks at it. */
export class TableEvents {
  readonly #listeners = new Map<string, Set<Listener>>();

  tell(tableId: string, event: TableEvent): void {
    for (const listener of this.#listeners.get(tableId) ?? []) listener(event);
  }

  /** @returns a function that ends the listening */
  listen(tableId: string, listener: Listener): () => void {
    const listeners = this.#listeners.get(tableId) ?? new Set();
    this.#listeners.set(tableId, listeners.add(listener));
    return () => {
      listeners.delete(listener);
      if (listeners.size === 0 && this.#listeners.get(tableId) === listeners) this.#listeners.delete(tableId);
    };
  }
}
