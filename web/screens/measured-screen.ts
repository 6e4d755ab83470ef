import { html, nothing } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { Report } from '../../server/contract/report.js';
import { measuredThings } from '../canvas/measured-things.js';
import type { OfferedFile } from '../parts/file-list.js';
import '../parts/file-list.js';
import '../parts/measured-list.js';
import '../parts/next-step.js';
import '../parts/profile-chart.js';
import { sharedStyle } from '../parts/shared-style.js';
import '../parts/table-picture.js';
import '../parts/trouble-note.js';
import '../parts/work-progress.js';
import type { OpenTable } from '../state/app-state.js';
import { addressOf } from '../state/place.js';
import { TableScreen } from '../state/screen-base.js';
import { session } from '../state/session-instance.js';
import { measuredStyle } from './measured-style.js';

const measuredFiles: readonly OfferedFile[] = [
  { name: 'measurements.csv', label: 'CSV', what: 'everything measured, for a spreadsheet' },
  { name: 'plan-view.png', label: 'Picture, PNG', what: 'the plan view with its lengths' },
];

/** Step 3: what was measured, on the picture and as a list, linked both ways. */
@customElement('gw-measured-screen')
export class MeasuredScreen extends TableScreen {
  @state() private side: string | null = null;

  static override styles = [sharedStyle, measuredStyle];

  override render() {
    const table = this.table;
    if (!table) return nothing;
    const report = table.report.value;
    return html`
      <h1 tabindex="-1">The measured plan</h1>
      <gw-work-progress .work=${table.work} @cancel=${() => session.cancelMeasuring()}></gw-work-progress>
      ${table.report.trouble ? html`<gw-trouble-note .trouble=${table.report.trouble}></gw-trouble-note>` : nothing}
      ${report ? this.measured(table, report) : this.nothingYet(table)}
      <gw-next-step .table=${table.id} step="measured" .ready=${report !== null}></gw-next-step>
    `;
  }

  private nothingYet(table: OpenTable) {
    if (table.report.status === 'loading') return html`<p class="quiet">Fetching the measurement…</p>`;
    if (table.work.status === 'running' || table.work.status === 'queued') return nothing;
    return html`<p>Nothing is measured yet. Add a photo and measure it first.</p>
      <a class="button main" href=${addressOf({ table: table.id, step: 'photos' })}>Go to the photos</a>`;
  }

  private measured(table: OpenTable, report: Report) {
    const { lengthStyle } = this.state;
    const side = this.sideShown(table, report);
    return html`
      ${
        table.stale
          ? html`<p class="aside">Photos or settings have changed since this was measured.
              <a href=${addressOf({ table: table.id, step: 'photos' })}>Measure again</a></p>`
          : nothing
      }
      ${this.warnings(report)}
      <p class="quiet">Every length is followed by ±: the true one lies within that, 19 times out of 20. Choose a line of the list, or touch the picture.</p>
      <div class="split">
        <section class="picture" aria-label="Picture">
          <gw-table-picture
            .table=${table.id}
            .report=${report}
            .planView=${table.planView.value}
            .photos=${table.stored.photos}
            .picture=${table.picture}
            .stamp=${table.stored.measuredInputs ?? ''}
            .chosen=${table.chosen}
            .lengthStyle=${lengthStyle}
            @choose=${this.choose}
            @picture=${(e: CustomEvent<string>) => session.showPicture(e.detail)}
          ></gw-table-picture>
        </section>
        <section aria-label="What was measured">
          <gw-measured-list
            .things=${measuredThings(report)}
            .report=${report}
            .lengthStyle=${lengthStyle}
            .chosen=${table.chosen}
            @choose=${this.choose}
          ></gw-measured-list>
          <h2>Along a side</h2>
          <p class="quiet">How far the nearest rail stands from the table edge, all along it.</p>
          <label class="field"
            >Side
            <select @change=${(e: Event) => (this.side = (e.target as HTMLSelectElement).value)}>
              ${report.table.sides.map((s) => html`<option value=${s.name} ?selected=${s.name === side}>Side ${s.name}</option>`)}
            </select>
          </label>
          <gw-profile-chart
            .report=${report}
            .side=${side}
            .chosen=${table.chosen}
            .lengthStyle=${lengthStyle}
            @choose=${this.choose}
          ></gw-profile-chart>
          ${this.notSeen(report)}
          <details>
            <summary>Files of the measurement</summary>
            <gw-file-list .table=${table.id} .unit=${lengthStyle.unit} .files=${measuredFiles}></gw-file-list>
          </details>
        </section>
      </div>
    `;
  }

  private readonly choose = (event: CustomEvent<string | null>): void => {
    session.choose(event.detail);
    const report = this.table?.report.value;
    const [kind, key] = (event.detail ?? '').split(':');
    if (kind === 'side') this.side = key;
    if (kind === 'clearance') this.side = report?.clearances[Number(key)]?.side ?? this.side;
    if (kind === 'profile') this.side = report?.profile[Number(key)]?.side ?? this.side;
  };

  private sideShown(table: OpenTable, report: Report): string {
    const known = report.table.sides.map((s) => s.name);
    if (this.side && known.includes(this.side)) return this.side;
    const chosen = table.chosen?.startsWith('side:') ? table.chosen.slice(5) : null;
    return chosen ?? report.clearances[0]?.side ?? known[0] ?? '';
  }

  private warnings(report: Report) {
    if (report.warnings.length === 0) return nothing;
    return html`<div class="aside" role="note">
      <b>To know before you cut</b>
      <ul>
        ${report.warnings.map((warning) => html`<li data-code=${warning.code}>${warning.message}</li>`)}
      </ul>
    </div>`;
  }

  private notSeen(report: Report) {
    if (report.notSeen.length === 0) return nothing;
    return html`<h2>Not seen</h2>
      <p class="quiet">Hidden in the photos, so nothing is claimed there. A photo from another side may show it.</p>
      <ul class="plain hidden-parts">
        ${report.notSeen.map((part, i) => {
          const id = `hidden:${i}`;
          const chosen = this.table?.chosen === id;
          return html`<li>
            <button class="small" aria-pressed=${chosen ? 'true' : 'false'} @click=${() => session.choose(chosen ? null : id)}>
              Run ${part.run}, place ${i + 1}: ${part.why}
            </button>
          </li>`;
        })}
      </ul>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-measured-screen': MeasuredScreen;
  }
}
