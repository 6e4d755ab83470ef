import { LitElement } from 'lit';
import type { AppState, OpenTable } from './app-state.js';
import { session } from './session-instance.js';
import { StoreController } from './store.js';

/** What every screen of an open table shares: the state, rendered again when it changes. */
export abstract class TableScreen extends LitElement {
  private readonly app = new StoreController(this, session.store, (state) => state);

  protected get state(): AppState {
    return this.app.value;
  }

  protected get table(): OpenTable | null {
    return this.app.value.table;
  }
}
