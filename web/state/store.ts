import type { ReactiveController, ReactiveControllerHost } from 'lit';
import type { Action } from './actions.js';
import { type AppState, startState } from './app-state.js';
import { reduce } from './reduce.js';

/** The page's state in one place. Elements read it through a StoreController and change it through the session. */
export class Store {
  state: AppState = startState;
  private readonly listeners = new Set<() => void>();

  dispatch(action: Action): void {
    const next = reduce(this.state, action);
    if (next === this.state) return;
    this.state = next;
    for (const listener of [...this.listeners]) listener();
  }

  /** @returns a function that ends the subscription */
  subscribe(listener: () => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }
}

/** Renders its element again whenever the selected part of the state changes. */
export class StoreController<T> implements ReactiveController {
  value: T;
  private unsubscribe = (): void => {};

  constructor(
    private readonly host: ReactiveControllerHost,
    private readonly store: Store,
    private readonly select: (state: AppState) => T,
  ) {
    this.value = select(store.state);
    host.addController(this);
  }

  hostConnected(): void {
    this.unsubscribe = this.store.subscribe(() => this.update());
    this.update();
  }

  hostDisconnected(): void {
    this.unsubscribe();
  }

  private update(): void {
    const next = this.select(this.store.state);
    if (next === this.value) return;
    this.value = next;
    this.host.requestUpdate();
  }
}
