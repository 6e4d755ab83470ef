import { css, html, LitElement, nothing } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import '../parts/gap-drawing.js';
import { sharedStyle } from '../parts/shared-style.js';
import '../parts/trouble-note.js';
import { openPacked } from '../api/open-packed.js';
import type { TableSummary } from '../api/tables-api.js';
import { type Trouble, troubleOf } from '../api/trouble.js';
import { addressOf } from '../state/place.js';
import { session } from '../state/session-instance.js';
import { StoreController } from '../state/store.js';
import { terms } from '../text/terms.js';

/** Where everything begins: the job in a paragraph, the sample, a new table, and the tables that there are. */
@customElement('gw-start-screen')
export class StartScreen extends LitElement {
  private readonly tables = new StoreController(this, session.store, (s) => s.tables);
  @state() private busy = false;
  @state() private removing: string | null = null;
  /** Name of the packed table that is being sent, and what went wrong with the last one. */
  @state() private opening: string | null = null;
  @state() private trouble: Trouble | null = null;

  static override styles = [
    sharedStyle,
    css`
      .ways {
        display: grid;
        gap: 1rem;
        grid-template-columns: repeat(auto-fit, minmax(min(100%, 20rem), 1fr));
        margin: 1.25rem 0;
      }
      .way {
        border: 2px solid var(--ink);
        background: var(--sheet);
        padding: 1rem;
      }
      .way h2 {
        margin-top: 0;
      }
      form {
        display: flex;
        flex-wrap: wrap;
        gap: 0.75rem;
        align-items: end;
      }
      form label {
        flex: 1 1 10rem;
      }
      form input {
        width: 100%;
      }
      li {
        align-items: center;
        border-top: 1px solid var(--line);
        display: flex;
        flex-wrap: wrap;
        gap: 0.25rem 1rem;
        justify-content: space-between;
        padding: 0.5rem 0;
      }
      li a {
        display: block;
        font-weight: 600;
        min-height: 2.75rem;
        padding: 0.5rem 0;
      }
      li div {
        flex: 1 1 14rem;
      }
      .answers {
        display: flex;
        gap: 1rem;
      }
    `,
  ];

  override render() {
    return html`
      <h1 tabindex="-1">Cut the fillers right the first time</h1>
      <p>
        Lay your three-rail track loose on the table, print a marker <span class="meaning">(${terms.marker})</span>, and take a
        photo or two. Gapwright measures every gap and the room to the table edge, and works out each filler
        <span class="meaning">(${terms.filler})</span> that makes it fit.
      </p>
      <gw-gap-drawing></gw-gap-drawing>
      <div class="ways">
        <section class="way">
          <h2>See how it goes</h2>
          <p>An invented table with its photo, measured and planned while you watch. Nothing to print.</p>
          <button class="main" ?disabled=${this.busy} @click=${this.trySample}>Try the sample table</button>
        </section>
        <section class="way">
          <h2>Measure your own</h2>
          <form @submit=${this.makeTable}>
            <label class="field">Name of the table<input name="name" maxlength="80" autocomplete="off" placeholder="My table" /></label>
            <button ?disabled=${this.busy}>New table</button>
          </form>
        </section>
        <section class="way">
          <h2>Open a packed table</h2>
          <label class="field"
            ><span>A ZIP file of a whole table, from step <i>Cut</i></span>
            <input type="file" accept=".zip,application/zip" ?disabled=${this.busy} @change=${this.openPacked} />
          </label>
          ${this.opening ? html`<p class="quiet" role="status">Opening ${this.opening}…</p>` : nothing}
          ${this.trouble ? html`<gw-trouble-note .trouble=${this.trouble}></gw-trouble-note>` : nothing}
        </section>
      </div>
      ${this.list()}
    `;
  }

  private list() {
    const { value, trouble, status } = this.tables.value;
    return html`<section aria-labelledby="tables">
      <h2 id="tables" tabindex="-1">Your tables</h2>
      ${trouble ? html`<gw-trouble-note .trouble=${trouble}><button class="small" @click=${() => session.listTables()}>Try again</button></gw-trouble-note>` : nothing}
      ${!value && status === 'loading' ? html`<p class="quiet">Looking…</p>` : nothing}
      ${value?.length === 0 ? html`<p class="quiet">None yet. Each table is kept in a folder of its own on the computer that runs Gapwright.</p>` : nothing}
      <ul class="plain">
        ${value?.map((table) => this.row(table))}
      </ul>
    </section>`;
  }

  private row(table: TableSummary) {
    const photos = table.photoCount === 1 ? '1 photo' : `${table.photoCount} photos`;
    const asked = this.removing === table.id;
    return html`<li>
      <div>
        <a href=${addressOf({ table: table.id, step: table.photoCount > 0 ? 'measured' : 'sheet' })}>${table.name}</a>
        <span class="quiet">${table.sample ? 'sample, ' : ''}${photos}, changed ${new Date(table.changed).toLocaleString()}</span>
      </div>
      ${table.problem ? html`<gw-trouble-note .trouble=${troubleOf(table.problem)}></gw-trouble-note>` : nothing}
      ${
        asked
          ? html`<span>Delete it with its photos?</span>
              <span class="answers">
              <button class="small" aria-label="Delete ${table.name} with its photos" @click=${() => this.removeTable(table.id)}>Delete</button>
              <button class="small keep" aria-label="Keep ${table.name}" @click=${() => this.keepTable(table.id)}>Keep</button>
              </span>`
          : html`<button class="small" data-delete=${table.id} @click=${() => this.askFirst(table.id)} aria-label="Delete ${table.name}…">Delete…</button>`
      }
    </li>`;
  }

  /** Each button takes the place of another: whoever uses the keyboard stays where they were, on what does no harm first. */
  private async askFirst(table: string): Promise<void> {
    this.removing = table;
    await this.focusOn('.keep');
  }

  private async keepTable(table: string): Promise<void> {
    this.removing = null;
    await this.focusOn(`[data-delete="${table}"]`);
  }

  private async removeTable(table: string): Promise<void> {
    await session.removeTable(table);
    await this.focusOn('#tables');
  }

  private async focusOn(selector: string): Promise<void> {
    await this.updateComplete;
    this.renderRoot.querySelector<HTMLElement>(selector)?.focus();
  }

  private async trySample(): Promise<void> {
    this.busy = true;
    await session.trySample();
    this.busy = false;
  }

  private async openPacked(event: Event): Promise<void> {
    const input = event.target as HTMLInputElement;
    const file = input.files?.[0];
    if (!file) return;
    this.busy = true;
    this.trouble = null;
    this.opening = file.name;
    const answer = await openPacked(file);
    this.busy = false;
    this.opening = null;
    input.value = '';
    if (answer.ok) location.hash = addressOf({ table: answer.value.id, step: 'measured' });
    else this.trouble = answer.problem;
  }

  private async makeTable(event: Event): Promise<void> {
    event.preventDefault();
    const name = String(new FormData(event.target as HTMLFormElement).get('name') ?? '').trim();
    this.busy = true;
    await session.newTable(name || 'My table');
    this.busy = false;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-start-screen': StartScreen;
  }
}
