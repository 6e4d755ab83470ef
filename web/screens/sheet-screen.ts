import { css, html, nothing } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { checkBarWords } from '../../server/contract/print-words.js';
import { markerSheetUrl, type Paper } from '../api/tables-api.js';
import '../parts/lay-drawing.js';
import '../parts/next-step.js';
import { sharedStyle } from '../parts/shared-style.js';
import { TableScreen } from '../state/screen-base.js';
import { session } from '../state/session-instance.js';
import { terms } from '../text/terms.js';

const counts = [1, 2, 4, 6] as const;

/** Step 1: the marker sheets to print, and how to lay them. */
@customElement('gw-sheet-screen')
export class SheetScreen extends TableScreen {
  @state() private paper: Paper | null = null;
  @state() private count = 4;

  static override styles = [
    sharedStyle,
    css`
      .choices {
        margin: 1rem 0;
      }
      .columns {
        display: grid;
        gap: 1rem 2.5rem;
        grid-template-columns: repeat(auto-fit, minmax(min(100%, 22rem), 1fr));
      }
      li {
        margin-bottom: 0.5rem;
      }
    `,
  ];

  override render() {
    const table = this.table;
    if (!table) return nothing;
    const sideMm = table.edited.settings.markerSideMm === 150 ? 150 : 120;
    const paper = this.paper ?? (this.state.lengthStyle.unit === 'in' ? 'letter' : 'a4');
    return html`
      <h1 tabindex="-1">Print a marker sheet</h1>
      <p>
        A marker is ${terms.marker}. One is enough for a small table; four, one near each corner, measure a long table
        better.
      </p>
      <div class="row choices">
        <label class="field"
          >Name of the table<input maxlength="80" .value=${table.edited.name} @change=${this.rename}
        /></label>
        <label class="field"
          >Paper
          <select @change=${(e: Event) => (this.paper = (e.target as HTMLSelectElement).value as Paper)}>
            <option value="letter" ?selected=${paper === 'letter'}>Letter</option>
            <option value="a4" ?selected=${paper === 'a4'}>A4</option>
          </select>
        </label>
        <label class="field"
          >Side of the black square
          <select @change=${this.chooseSide}>
            <option value="120" ?selected=${sideMm === 120}>120 mm (about 4 3/4 in)</option>
            <option value="150" ?selected=${sideMm === 150}>150 mm (about 5 7/8 in)</option>
          </select>
        </label>
        <label class="field"
          >Sheets
          <select @change=${(e: Event) => (this.count = Number((e.target as HTMLSelectElement).value))}>
            ${counts.map((n) => html`<option value=${n} ?selected=${n === this.count}>${n}</option>`)}
          </select>
        </label>
        <a class="button main" download href=${markerSheetUrl(paper, sideMm, this.count === 1 ? '0' : `0-${this.count - 1}`)}
          >Download PDF</a
        >
      </div>
      <div class="columns">
        <section>
          <h2>Print it</h2>
          <ol>
            <li>Print at actual size, 100 %. “Fit to page” makes every length wrong.</li>
            <li>${checkBarWords} Then measure the black square: if its side is not ${sideMm} mm, type what you measure at the photos.</li>
            <li>Don’t trim the white border: the camera needs it to see the square.</li>
          </ol>
        </section>
        <section>
          <h2>Lay it</h2>
          <ol>
            <li>Flat on the table top, all four corners down. A curled sheet measures wrong; a bit of tape helps.</li>
            <li>Not on the track, not under anything, not where a lamp mirrors in it.</li>
            <li>Spread several sheets over the whole table. Each has its own number; use each only once.</li>
          </ol>
        </section>
        <gw-lay-drawing></gw-lay-drawing>
      </div>
      <gw-next-step .table=${table.id} step="sheet"></gw-next-step>
    `;
  }

  /** A table without a name could not be found again: an emptied field shows the name of before. */
  private rename(event: Event): void {
    const field = event.target as HTMLInputElement;
    const name = field.value.trim();
    if (name) session.edit({ name });
    else field.value = this.table?.edited.name ?? '';
  }

  private chooseSide(event: Event): void {
    const settings = this.table?.edited.settings;
    if (settings)
      session.edit({ settings: { ...settings, markerSideMm: Number((event.target as HTMLSelectElement).value) } });
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-sheet-screen': SheetScreen;
  }
}
