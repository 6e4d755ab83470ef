import { html, nothing } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { warningIn } from '../../server/contract/coverage-words.js';
import { findReadings } from '../../server/contract/gap-readings.js';
import type { Report } from '../../server/contract/report.js';
import type { Settings } from '../../server/contract/tables.js';
import { unbroken } from '../../server/units/unbroken.js';
import { outlineOn } from '../canvas/correct-by-touch.js';
import { cornerHandles, correctionMarks, touchedMarks } from '../canvas/correction-marks.js';
import { measuredThings } from '../canvas/measured-things.js';
import { changesOnSamePhotos } from '../canvas/report-changes.js';
import type { CorrectPanel } from '../parts/correct-panel.js';
import '../parts/correct-panel.js';
import '../parts/coverage-note.js';
import type { OfferedFile } from '../parts/file-list.js';
import '../parts/file-list.js';
import '../parts/measured-list.js';
import '../parts/next-step.js';
import '../parts/profile-chart.js';
import { sharedStyle } from '../parts/shared-style.js';
import '../parts/trouble-note.js';
import '../parts/work-progress.js';
import type { CorrectingState, OpenTable } from '../state/app-state.js';
import { correctedPhoto } from '../state/correcting.js';
import { addressOf } from '../state/place.js';
import { TableScreen } from '../state/screen-base.js';
import { session } from '../state/session-instance.js';
import { workShown } from '../state/work-shown.js';
import { type CorrectionTool, toolTexts } from '../text/correction-words.js';
import { markerSideWords } from '../text/marker-side-words.js';
import { runsInWords } from '../text/run-words.js';
import { measuredStyle } from './measured-style.js';
import { type PictureAdditions, tablePictureOf } from './table-picture-of.js';

const measuredFiles: readonly OfferedFile[] = [
  { name: 'measurements.csv', label: 'CSV', what: 'everything measured, for a spreadsheet' },
  { name: 'plan-view.png', label: 'Picture, PNG', what: 'the plan view with its lengths' },
  { name: 'coverage.svg', label: 'How sure, SVG', what: 'where on the table a clearance is good to what, to scale' },
  { name: 'coverage.csv', label: 'How sure, CSV', what: 'the same in numbers' },
];

/** Step 3: what was measured, on the picture and as a list, linked both ways. */
@customElement('gw-measured-screen')
export class MeasuredScreen extends TableScreen {
  @state() private side: string | null = null;
  @state() private covered = false;

  static override styles = [sharedStyle, measuredStyle];

  override render() {
    const table = this.table;
    if (!table) return nothing;
    const report = table.report.value;
    return html`
      <h1 tabindex="-1">The measured plan</h1>
      ${table.correcting ? nothing : this.progress(table)}
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
    const working = table.work.status === 'queued' || table.work.status === 'running';
    return html`
      ${
        table.stale && !working
          ? html`<p class="aside">Photos or settings have changed since this was measured.
              <a href=${addressOf({ table: table.id, step: 'photos' })}>Measure again</a></p>`
          : nothing
      }
      ${this.warnings(report)}
      <p class="quiet">
        ${
          table.correcting
            ? 'Choose what is wrong, then touch the place on the photo. Everything is measured again with it.'
            : `Every length is followed by ±: the true one lies within that, 19 times out of 20.${this.roundingWords()} Choose a line of the list, or touch the picture.`
        }
      </p>
      ${table.correcting ? nothing : this.markerSide(report)}
      <div class="split">
        <section class="picture" aria-label="Picture">
          ${tablePictureOf(this.state, table, report, this.additions(table))}
        </section>
        ${table.correcting ? this.correcting(table, table.correcting) : this.list(table, report)}
      </div>
    `;
  }

  /** All lengths hang on it, and it is what a person types: so it is told. */
  private markerSide(report: Report) {
    const side = markerSideWords(report, this.state.lengthStyle);
    return side === '' ? nothing : html`<p class="quiet">Marker side used: <span class="number">${side}</span>.</p>`;
  }

  /** Fractions may lie half a step from what was measured: ± includes that. */
  private roundingWords(): string {
    const { unit, denominator } = this.state.lengthStyle;
    return unit === 'in' ? ` Lengths are written to the nearest 1/${denominator} in; ± includes that.` : '';
  }

  private progress(table: OpenTable) {
    return html`<gw-work-progress
      .work=${workShown(table)}
      .brief=${table.report.value !== null}
      @cancel=${() => session.cancelMeasuring()}
    ></gw-work-progress>`;
  }

  /** The tools lie below the picture: on a phone both come into sight together. */
  private async startCorrecting(): Promise<void> {
    session.correcting.start();
    void session.loadReportBefore();
    await this.updateComplete;
    this.renderRoot.querySelector('.picture')?.scrollIntoView({ block: 'start' });
    this.renderRoot.querySelector('gw-correct-panel')?.focusFirst();
  }

  private list(table: OpenTable, report: Report) {
    const { lengthStyle } = this.state;
    const side = this.sideShown(table, report);
    return html`<section aria-label="What was measured">
        <button class="correct" @click=${this.startCorrecting}>Something is wrong: correct it by hand</button>
          <p class="quiet">${runsInWords(report)}</p>
          <gw-measured-list
            .things=${measuredThings(report)}
            .report=${report}
            .byRule=${findReadings(report, table.edited.wishes.gapReadings ?? []).ruled}
            .lengthStyle=${lengthStyle}
            .chosen=${table.chosen}
            @choose=${(e: CustomEvent<string | null>) => this.choose(e.detail)}
          ></gw-measured-list>
          <gw-coverage-note
            .coverage=${report.coverage ?? null}
            .lengthStyle=${lengthStyle}
            .shown=${this.covered}
            @cover=${(e: CustomEvent<boolean>) => (this.covered = e.detail)}
          ></gw-coverage-note>
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
            @choose=${(e: CustomEvent<string | null>) => this.choose(e.detail)}
          ></gw-profile-chart>
          ${this.notSeen(report)}
          <details>
            <summary>Files of the measurement</summary>
            <gw-file-list .table=${table.id} .unit=${lengthStyle.unit} .files=${measuredFiles}></gw-file-list>
          </details>
        </section>`;
  }

  private correcting(table: OpenTable, { tool, touched }: CorrectingState) {
    const report = table.report.value;
    const { correcting } = session;
    return html`<section aria-label="Corrections">
      <gw-correct-panel
        .tool=${tool}
        .touched=${touched.length}
        .list=${table.edited.corrections.list}
        .outcomes=${report?.corrections ?? null}
        .changes=${report && table.reportBefore ? changesOnSamePhotos(table.reportBefore, report) : null}
        .settings=${table.edited.settings}
        .report=${report}
        .nameOf=${(id: string) => table.stored.photos.find((p) => p.id === id)?.name ?? null}
        .chosen=${table.chosen}
        .lengthStyle=${this.state.lengthStyle}
        @tool=${(e: CustomEvent<CorrectionTool | null>) => correcting.choose(e.detail)}
        @done=${() => correcting.finish()}
        @back=${() => correcting.takeBack()}
        @remove=${(e: CustomEvent<string>) => correcting.remove(e.detail)}
        @show=${(e: CustomEvent<string>) => this.showCorrection(table, e.detail)}
        @settings=${(e: CustomEvent<Settings>) => {
          session.edit({ settings: e.detail });
          if (!(e.currentTarget as CorrectPanel).isWrong) void session.measure();
        }}
        @leave=${() => correcting.stop()}
        >${this.progress(table)}</gw-correct-panel
      >
    </section>`;
  }

  /** A correction is shown on the photo that it was made on. */
  private showCorrection(table: OpenTable, thing: string): void {
    const made = table.edited.corrections.list.find((c) => `correction:${c.id}` === thing);
    if (made && table.stored.photos.some((p) => p.id === made.photo)) session.showPicture(made.photo);
    session.choose(table.chosen === thing ? null : thing);
  }

  /** What correcting adds to the picture: what was made, what is being made, corners to drag. */
  private additions(table: OpenTable): PictureAdditions {
    const now = table.correcting;
    const { list } = table.edited.corrections;
    const made = () => correctionMarks(list, table.picture);
    const on = now && correctedPhoto(table);
    if (!now || !on) return { extra: made, onChoose: this.choose, covered: this.covered };
    const corners = now.tool === 'corner-moved' ? (now.corners ?? outlineOn(on)) : [];
    const moving = now.corners ? touchedMarks([...now.corners, now.corners[0]].map((c) => c.at)) : [];
    const { correcting } = session;
    return {
      extra: () => [...made(), ...moving, ...touchedMarks(now.touched)],
      handles: () => cornerHandles(corners),
      aim: now.tool ? toolTexts[now.tool].hint : '',
      onlyPhotos: true,
      onPick: ({ at }) => correcting.touch([at.x, at.y]),
      onDrag: ({ handle, at }) => correcting.dragCorner(Number(handle.split(':')[1]), [at.x, at.y]),
      onDrop: () => correcting.dropCorner(),
      onChoose: this.choose,
    };
  }

  private readonly choose = (thing: string | null): void => {
    session.choose(thing);
    const report = this.table?.report.value;
    const [kind, key] = (thing ?? '').split(':');
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
        ${report.warnings.map((warning) => html`<li data-code=${warning.code}>${unbroken(warningIn(warning.message, report.coverage, this.state.lengthStyle))}</li>`)}
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
