import { css, html, nothing } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { cautions, cuttingSteps, joiningCaution, readInAllGaps } from '../../server/contract/bench-words.js';
import type { Paper } from '../api/tables-api.js';
import '../parts/donor-strips.js';
import type { OfferedFile } from '../parts/file-list.js';
import '../parts/file-list.js';
import '../parts/next-step.js';
import '../parts/plan-notices.js';
import { sharedStyle } from '../parts/shared-style.js';
import '../parts/trouble-note.js';
import type { OpenTable } from '../state/app-state.js';
import { addressOf } from '../state/place.js';
import { TableScreen } from '../state/screen-base.js';
import { session } from '../state/session-instance.js';
import { whyOutdated } from '../state/why-outdated.js';
import { cutsOf } from '../text/plan-names.js';
import { cutsOfBefore, measuredSince } from '../text/plan-of-before.js';

const cutFiles: readonly OfferedFile[] = [
  { name: 'cut-sheet.pdf', label: 'Cut sheet, PDF', what: 'to print and take to the bench', main: true },
  { name: 'cut-sheet.csv', label: 'CSV', what: 'the fillers as a table for a spreadsheet' },
  { name: 'cut-sheet.svg', label: 'SVG', what: 'the strips as a drawing' },
  { name: 'cut-sheet.dxf', label: 'DXF', what: 'the strips for drawing programs and machines' },
];

const tableFiles: readonly OfferedFile[] = [
  {
    name: 'setting-out.pdf',
    label: 'Setting-out sheet, PDF',
    what: 'tape offsets from the table edges, to put the track down as planned',
  },
  { name: 'layout.svg', label: 'Layout, SVG', what: 'the whole table at true size' },
  { name: 'layout.dxf', label: 'Layout, DXF', what: 'the same for drawing programs' },
];

const allFiles: readonly OfferedFile[] = [
  {
    name: 'table.zip',
    label: 'Whole table, ZIP',
    what: 'photos, measurement, wishes and plan, to keep or to open on another computer',
  },
  { name: 'report.json', label: 'Report, JSON', what: 'everything measured, for programs of your own' },
];

/** Step 6: the cut sheet to take to the bench, and the cautions that belong to it. */
@customElement('gw-cut-screen')
export class CutScreen extends TableScreen {
  @state() private paper: Paper | null = null;

  static override styles = [
    sharedStyle,
    css`
      .columns {
        display: grid;
        gap: 1rem 2.5rem;
        grid-template-columns: repeat(auto-fit, minmax(min(100%, 22rem), 1fr));
      }
      .columns li {
        margin-bottom: 0.4rem;
      }
    `,
  ];

  /** The sheet must be that of the wishes of now. */
  override connectedCallback(): void {
    super.connectedCallback();
    const table = this.table;
    if (table?.measured && whyOutdated(table) === 'wishes') void session.makePlan();
  }

  override render() {
    const table = this.table;
    if (!table) return nothing;
    const plan = table.plan.value;
    const ofBefore = whyOutdated(table) === 'measured';
    const working = table.plan.status === 'loading';
    return html`
      <h1 tabindex="-1">Cut</h1>
      ${
        plan
          ? ofBefore
            ? this.measuredAgain(table)
            : working
              ? html`<p role="status">Working the fillers out again…</p>`
              : this.sheets(table)
          : html`<p>There is no filler plan yet.</p><a class="button main" href=${addressOf({ table: table.id, step: 'fillers' })}>Go to the fillers</a>`
      }
      ${plan && plan.donors.length > 0 ? html`<h2>${ofBefore ? cutsOfBefore : 'The cuts'}</h2><gw-donor-strips .plan=${plan} .lengthStyle=${this.state.lengthStyle}></gw-donor-strips>` : nothing}
      ${plan && cutsOf(plan) === 0 ? this.nothingToCut() : this.atTheBench(table)}
      <h2>All of it</h2>
      <gw-file-list .table=${table.id} .files=${table.measured ? allFiles : allFiles.slice(0, 1)}></gw-file-list>
      <gw-next-step .table=${table.id} step="cut" .ready=${plan !== null && !ofBefore}></gw-next-step>
    `;
  }

  private atTheBench(table: OpenTable) {
    return html`<div class="columns">
      <section>
        <h2>At the bench</h2>
        <ol>
          ${this.steps(table).map((step) => html`<li>${step}</li>`)}
        </ol>
      </section>
      <section>
        <h2>Take care</h2>
        <ul>
          ${cautions.map((caution) => html`<li>${caution}</li>`)}
        </ul>
      </section>
    </div>`;
  }

  private nothingToCut() {
    return html`<h2>At the table</h2>
      <p><b>Nothing has to be sawn for this plan.</b> The setting-out sheet says where the track goes.</p>
      <p>${joiningCaution}</p>`;
  }

  /** The steps of the cut sheet; the first leads to where readings are typed in, as long as one is missing. */
  private steps(table: OpenTable) {
    const plan = table.plan.value;
    const gapsRead = plan !== null && readInAllGaps(plan, table.report.value);
    const bench = { gapsRead, kerfMm: plan?.kerfMm ?? null, tiesAre: 'drawn on the cut sheet' };
    const [first, ...others] = cuttingSteps(bench, this.state.lengthStyle);
    const typeIn = html` <a href=${addressOf({ table: table.id, step: 'fillers' })}>Type it in</a>`;
    return [html`<b>${first}</b>${gapsRead ? nothing : typeIn}`, ...others];
  }

  /** No sheet is offered from a plan of another measurement. */
  private measuredAgain(table: OpenTable) {
    const working = table.plan.status === 'loading';
    return html`<p class="aside">${measuredSince}</p>
      <div class="row">
        <button class="main" ?disabled=${working} @click=${() => session.makePlan()}>Work them out again</button>
        <span class="quiet" role="status">${working ? 'Working it out…' : ''}</span>
      </div>
      ${table.plan.trouble ? html`<gw-trouble-note .trouble=${table.plan.trouble}></gw-trouble-note>` : nothing}`;
  }

  private sheets(table: OpenTable) {
    const { unit } = this.state.lengthStyle;
    const paper = this.paper ?? (unit === 'in' ? 'letter' : 'a4');
    return html`
      <gw-plan-notices .plan=${table.plan.value} .report=${table.report.value} .lengthStyle=${this.state.lengthStyle}></gw-plan-notices>
      <p>The cut sheet has each filler, where to mark and saw, and strips at true size. Lengths are in ${unit === 'in' ? 'inches' : 'millimetres'}, as chosen at the top.</p>
      ${
        whyOutdated(table)
          ? html`<p class="aside">Your wishes have changed since. <a href=${addressOf({ table: table.id, step: 'fillers' })}>Work out the fillers again</a> first.</p>`
          : nothing
      }
      <label class="field"
        >Paper
        <select @change=${(e: Event) => (this.paper = (e.target as HTMLSelectElement).value as Paper)}>
          <option value="letter" ?selected=${paper === 'letter'}>Letter</option>
          <option value="a4" ?selected=${paper === 'a4'}>A4</option>
        </select>
      </label>
      <h2>For the bench</h2>
      <gw-file-list .table=${table.id} .paper=${paper} .unit=${unit} .files=${cutFiles}></gw-file-list>
      <h2>For the table</h2>
      <gw-file-list .table=${table.id} .paper=${paper} .unit=${unit} .files=${tableFiles}></gw-file-list>
    `;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-cut-screen': CutScreen;
  }
}
