import { css, html, LitElement, nothing, type TemplateResult } from 'lit';
import { customElement } from 'lit/decorators.js';
import { sharedStyle } from '../parts/shared-style.js';
import '../parts/step-path.js';
import '../parts/trouble-note.js';
import '../parts/undo-redo.js';
import '../parts/unit-switch.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import type { AppState } from '../state/app-state.js';
import { session } from '../state/session-instance.js';
import { stepsDone } from '../state/steps-done.js';
import { StoreController } from '../state/store.js';
import { type StepId, stepTexts } from '../text/steps.js';
import './start-screen.js';
import './sheet-screen.js';
import './photos-screen.js';
import './measured-screen.js';
import './wishes-screen.js';
import './fillers-screen.js';
import './cut-screen.js';
import './check-screen.js';

const screens: Record<StepId, () => TemplateResult> = {
  sheet: () => html`<gw-sheet-screen></gw-sheet-screen>`,
  photos: () => html`<gw-photos-screen></gw-photos-screen>`,
  measured: () => html`<gw-measured-screen></gw-measured-screen>`,
  wishes: () => html`<gw-wishes-screen></gw-wishes-screen>`,
  fillers: () => html`<gw-fillers-screen></gw-fillers-screen>`,
  cut: () => html`<gw-cut-screen></gw-cut-screen>`,
  check: () => html`<gw-check-screen></gw-check-screen>`,
};

/** The frame of every screen: head line, the path, messages, and the screen of the place where the person is. */
@customElement('gw-app')
export class App extends LitElement {
  private readonly app = new StoreController(this, session.store, (state) => state);
  private shownPlace = '';

  static override styles = [
    sharedStyle,
    css`
      header {
        align-items: center;
        display: flex;
        gap: 0.25rem 0.75rem;
        justify-content: space-between;
        padding: 0.5rem 0;
      }
      .brand {
        align-items: center;
        flex: none;
        color: var(--ink);
        display: inline-flex;
        font-family: var(--hand);
        font-size: 1.3rem;
        font-weight: 600;
        min-height: 2.75rem;
        text-decoration: none;
      }
      .where {
        align-items: baseline;
        display: flex;
        flex: 1 1 0;
        gap: 0.75rem;
        min-width: 0;
      }
      .table {
        color: var(--pencil);
        font-family: var(--hand);
        overflow: hidden;
        text-overflow: ellipsis;
        white-space: nowrap;
      }
      @media (max-width: 30rem) {
        .table {
          display: none;
        }
      }
      @media (max-width: 24rem) {
        header {
          flex-wrap: wrap;
        }
        .where {
          flex: 1 0 auto;
        }
      }
      .frame {
        margin: 0 auto;
        max-width: 84rem;
        padding: 0 max(1rem, env(safe-area-inset-right)) 3rem max(1rem, env(safe-area-inset-left));
      }
      main {
        padding-top: 1.25rem;
      }
      .skip:not(:focus) {
        clip-path: inset(50%);
        height: 1px;
        min-height: 0;
        overflow: hidden;
        padding: 0;
        position: absolute;
      }
      .notice {
        background: var(--paper);
        bottom: 0;
        position: sticky;
        z-index: 2;
      }
      .notice .aside {
        border: 2px solid var(--ink);
        border-left-width: 0.5rem;
        margin: 0;
        padding: 0.75rem;
      }
      .offline {
        background: var(--shade);
        border-left: 0.5rem solid var(--line);
        margin: 0;
        max-width: none;
        padding: 0.5rem 0.9rem;
      }
    `,
  ];

  override render() {
    const state = this.app.value;
    const { table, step } = state.place;
    return html`<div class="frame">
      <button class="skip" @click=${this.skip}>Skip to the content</button>
      <header>
        <span class="where"
          ><a class="brand" href="#/">Gapwright</a>${table && state.table ? html`<span class="table">${state.table.edited.name}</span>` : nothing}</span
        >
        ${
          table && state.table
            ? html`<gw-undo-redo
                .canUndo=${state.table.past.length > 0}
                .canRedo=${state.table.future.length > 0}
                @undo=${() => session.undo()}
                @redo=${() => session.redo()}
              ></gw-undo-redo>`
            : nothing
        }
        <gw-unit-switch
          .lengthStyle=${state.lengthStyle}
          @length-style=${(e: CustomEvent<LengthStyle>) => session.setLengthStyle(e.detail)}
        ></gw-unit-switch>
      </header>
      ${table && step ? html`<gw-step-path .table=${table} .step=${step} .done=${stepsDone(state.table)}></gw-step-path>` : nothing}
      <main>${this.screen(state)}</main>
      <div class="notice" role="status" aria-live="polite">${this.notices(state)}</div>
    </div>`;
  }

  private notices(state: AppState) {
    const conflict = state.table?.conflict;
    return html`
      ${
        state.place.table && !state.connected
          ? html`<p class="offline">No connection to Gapwright just now. What you enter stays here and is sent when it is back.</p>`
          : nothing
      }
      ${
        state.notice?.trouble
          ? html`<gw-trouble-note .trouble=${state.notice.trouble}
              ><button class="small" @click=${() => session.store.dispatch({ type: 'notice-read' })}>Close</button></gw-trouble-note
            >`
          : state.notice?.text
            ? html`<span class="only-read">${state.notice.text}</span>`
            : nothing
      }
      ${
        conflict
          ? html`<div class="aside">
              <p><b>This table was changed on another device while you changed it here.</b> Nothing was overwritten. Which one counts?</p>
              <div class="row">
                <button @click=${() => session.settle('theirs')}>Take the other device’s</button>
                <button @click=${() => session.settle('mine')}>Keep what is here</button>
              </div>
            </div>`
          : nothing
      }
    `;
  }

  private screen(state: AppState) {
    const { table, step } = state.place;
    if (!table || !step) return html`<gw-start-screen></gw-start-screen>`;
    if (state.tableTrouble) {
      return html`<h1 tabindex="-1">This table cannot be opened</h1>
        <gw-trouble-note .trouble=${state.tableTrouble}></gw-trouble-note>
        <div class="row">
          <button @click=${() => session.refreshTable()}>Try again</button>
          <a class="button" href="#/">All tables</a>
        </div>`;
    }
    if (!state.table) return html`<h1 tabindex="-1">Opening the table…</h1>`;
    return screens[step]();
  }

  /** Names the page after its place, and after a change of place takes the reader to the new heading. */
  protected override updated(): void {
    const { place, table } = this.app.value;
    const key = `${place.table ?? ''}/${place.step ?? ''}/${table ? 'open' : ''}`;
    if (key === this.shownPlace) return;
    const first = this.shownPlace === '';
    this.shownPlace = key;
    const step = place.step ? `${stepTexts[place.step].name} · ` : '';
    document.title = place.table ? `${step}${table?.edited.name ?? 'Table'} · Gapwright` : 'Gapwright';
    if (!first) void this.focusHeading();
  }

  private async focusHeading(): Promise<void> {
    const screen = this.renderRoot.querySelector('main')?.firstElementChild;
    if (screen instanceof LitElement) await screen.updateComplete;
    const heading = screen instanceof HTMLHeadingElement ? screen : screen?.shadowRoot?.querySelector('h1');
    window.scrollTo(0, 0);
    (heading as HTMLElement | null | undefined)?.focus({ preventScroll: true });
  }

  private skip(): void {
    void this.focusHeading();
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-app': App;
  }
}
