import { css, html, nothing } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { StoredPhoto } from '../../server/contract/tables.js';
import '../parts/check-table.js';
import type { OfferedFile } from '../parts/file-list.js';
import '../parts/file-list.js';
import { sharedStyle } from '../parts/shared-style.js';
import '../parts/trouble-note.js';
import type { OpenTable } from '../state/app-state.js';
import { addressOf } from '../state/place.js';
import { TableScreen } from '../state/screen-base.js';
import { session } from '../state/session-instance.js';
import { measuredStyle } from './measured-style.js';
import { tablePictureOf } from './table-picture-of.js';

const checkFiles: readonly OfferedFile[] = [
  { name: 'check-sheet.pdf', label: 'Check sheet, PDF', what: 'planned, measured, difference and verdict, to print' },
];

/** Step 7: after the cuts, planned against measured. */
@customElement('gw-check-screen')
export class CheckScreen extends TableScreen {
  @state() private asked = false;

  static override styles = [
    sharedStyle,
    measuredStyle,
    css`
      li {
        margin-bottom: 0.5rem;
      }
    `,
  ];

  override connectedCallback(): void {
    super.connectedCallback();
    void session.loadPlanned();
    // Which photos are from before the cuts changes with each plan.
    void session.refreshTable();
  }

  override render() {
    const table = this.table;
    if (!table) return nothing;
    const { planned } = table;
    return html`
      <h1 tabindex="-1">Check again</h1>
      <p>After the cuts, lay everything once more without fastening anything, photograph it, and see whether it came out as planned.</p>
      ${planned.trouble ? html`<gw-trouble-note .trouble=${planned.trouble}></gw-trouble-note>` : nothing}
      ${
        isPlanned(table)
          ? html`${this.howTo(table)} ${this.comparison(table)}`
          : isKnown(table)
            ? html`<p>No fillers are planned yet, so there is nothing to compare with.</p>
              <a class="button main" href=${addressOf({ table: table.id, step: 'fillers' })}>Go to the fillers</a>`
            : nothing
      }
    `;
  }

  private howTo(table: OpenTable) {
    const names = (table.plan.value ?? table.planned.value)?.fillers.map((f) => f.id) ?? [];
    return html`<h2>Do this</h2>
      <ol>
        <li>With the transformer unplugged, put each filler in its place${names.length > 0 ? `: ${names.join(', ')}` : ''}. No joint should need force.</li>
        <li>Look along each joint: rail heads level, no burr left. File off what catches before you run a finger over it.</li>
        <li>Push the longest car around by hand, above all past the narrow places at the table edge.</li>
        <li>
          Take the photos from before the cuts out of this table: they show the track as it no longer lies.
          ${this.takeAway(table)}
        </li>
        <li><a href=${addressOf({ table: table.id, step: 'photos' })}>Add new photos and measure again</a>, with the marker sheets on the table as before.</li>
      </ol>`;
  }

  private takeAway(table: OpenTable) {
    const { photos } = table.stored;
    if (photos.length === 0) return html`<b>Done: no photo is left.</b>`;
    const old = photosBefore(table).length;
    if (old === 0) return html`<b>Done: only newer photos are left.</b>`;
    const which = old === photos.length ? 'all' : 'the';
    const count = old === 1 ? 'the photo' : `${which} ${old} photos`;
    const from = old === photos.length ? '' : ' from before';
    if (!this.asked)
      return html`<br /><button class="small" @click=${() => (this.asked = true)}>Take ${count}${from} away…</button>`;
    return html`<br />
      <span>The plan and the last measurement stay; the photos are deleted from the table’s folder.</span>
      <div class="row">
        <button class="small" @click=${this.takeAllAway}>Take ${count}${from} away</button>
        <button class="small" @click=${() => (this.asked = false)}>Keep</button>
      </div>`;
  }

  private readonly takeAllAway = async (): Promise<void> => {
    this.asked = false;
    for (const photo of this.table ? photosBefore(this.table) : []) await session.removePhoto(photo.id);
  };

  private comparison(table: OpenTable) {
    const planned = table.planned.value;
    const report = table.report.value;
    if (!planned || !report || !table.photosSincePlanned) {
      return html`<h2>Planned and measured</h2>
        <p class="quiet">The comparison stands here once the table is measured again after its fillers were planned.</p>`;
    }
    const { lengthStyle } = this.state;
    return html`<h2>Planned and measured</h2>
      <p class="quiet">“Planned” is the plan as it stood before these photos were measured.</p>
      ${table.stale ? html`<p class="aside">The photos have changed since the last measurement: this still compares with that one.</p>` : nothing}
      <div class="split">
        <section class="picture" aria-label="Picture">
          ${tablePictureOf(this.state, table, report)}
        </section>
        <section aria-label="Comparison">
          <gw-check-table
            .planned=${planned}
            .report=${report}
            .jointAllowanceMm=${table.edited.wishes.jointAllowanceMm}
            .lengthStyle=${lengthStyle}
            @choose=${(e: CustomEvent<string>) => session.choose(e.detail)}
          ></gw-check-table>
          <gw-file-list
            .table=${table.id}
            .paper=${lengthStyle.unit === 'in' ? 'letter' : 'a4'}
            .unit=${lengthStyle.unit}
            .files=${checkFiles}
          ></gw-file-list>
        </section>
      </div>`;
  }
}

/** Whether there ever was a plan: without one there were no cuts, and no photo is from before them. */
function isPlanned({ plan, planned }: OpenTable): boolean {
  return plan.value !== null || planned.value !== null;
}

function isKnown({ measured, plan, planned }: OpenTable): boolean {
  const settled = ['ready', 'failed'];
  return !measured || (settled.includes(plan.status) && settled.includes(planned.status));
}

/** Photos that show the track as it lay before the cuts; those that came since stay. */
function photosBefore({ stored, beforeCuts }: OpenTable): readonly StoredPhoto[] {
  return stored.photos.filter((photo) => beforeCuts.includes(photo.id));
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-check-screen': CheckScreen;
  }
}
