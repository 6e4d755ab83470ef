import { css, html, nothing } from 'lit';
import { customElement, query, state } from 'lit/decorators.js';
import type { Settings } from '../../server/contract/tables.js';
import type { MeasureSettings } from '../parts/measure-settings.js';
import '../parts/measure-settings.js';
import '../parts/next-step.js';
import '../parts/photo-drop.js';
import '../parts/photo-remarks.js';
import '../parts/photo-row.js';
import { photoInReport } from '../canvas/measured-things.js';
import { sharedStyle, wrongEntryStyle } from '../parts/shared-style.js';
import '../parts/upload-row.js';
import type { WorkProgress } from '../parts/work-progress.js';
import '../parts/work-progress.js';
import type { OpenTable } from '../state/app-state.js';
import { addressOf } from '../state/place.js';
import { TableScreen } from '../state/screen-base.js';
import { session } from '../state/session-instance.js';
import { workShown } from '../state/work-shown.js';
import { terms } from '../text/terms.js';

/** Step 2: photos in, what the tool must know, and measuring with its progress. */
@customElement('gw-photos-screen')
export class PhotosScreen extends TableScreen {
  /** The field that kept measuring from beginning, as long as its entry is wrong. */
  @state() private toMend: string | null = null;
  @query('gw-measure-settings') private settings!: MeasureSettings;
  @query('gw-work-progress') private progress!: WorkProgress;

  static override styles = [
    sharedStyle,
    wrongEntryStyle,
    css`
      .columns {
        display: grid;
        gap: 1rem 2.5rem;
        grid-template-columns: repeat(auto-fit, minmax(min(100%, 24rem), 1fr));
      }
      h2 {
        margin-top: 1rem;
      }
      .go {
        margin: 1rem 0;
      }
      li {
        margin-bottom: 0.3rem;
      }
    `,
  ];

  override render() {
    const table = this.table;
    if (!table) return nothing;
    const working = table.work.status === 'queued' || table.work.status === 'running';
    return html`
      <h1 tabindex="-1">Photograph the track as it lies</h1>
      <p>Photos of the dry fit: ${terms['dry fit']}.</p>
      <gw-work-progress ?outdated=${table.stale} .work=${workShown(table)} .nameOf=${nameOf(table)} @cancel=${() => session.cancelMeasuring()}
        ><p><b>The photos are measured.</b></p>
        <p><a class="button main" href=${addressOf({ table: table.id, step: 'measured' })}>See the measured plan</a></p></gw-work-progress>
      <div class="columns">
        <section aria-label="Photos">
          <gw-photo-drop @photos=${(e: CustomEvent<File[]>) => session.addPhotos(e.detail)}></gw-photo-drop>
          ${table.uploads.map(
            (upload) => html`<gw-upload-row
              .upload=${upload}
              @repeat=${() => session.repeatUpload(upload.id)}
              @forget=${() => session.forgetUpload(upload.id)}
            ></gw-upload-row>`,
          )}
          ${table.stored.photos.map(
            (photo) => html`<gw-photo-row
              .table=${table.id}
              .photo=${photo}
              @remove=${() => session.removePhoto(photo.id)}
              ><gw-photo-remarks
                .table=${table.id}
                .photo=${photo}
                .measured=${photoInReport(table.report.value, photo) ?? null}
              ></gw-photo-remarks></gw-photo-row>`,
          )}
          ${table.stored.photos.length === 0 && table.uploads.length === 0 ? this.howTo() : nothing}
        </section>
        <section aria-label="Measuring">
          <h2>What the photos show</h2>
          <gw-measure-settings
            .settings=${table.edited.settings}
            .report=${table.report.value}
            .lengthStyle=${this.state.lengthStyle}
            @settings=${(e: CustomEvent<Settings>) => this.take(e.detail)}
          ></gw-measure-settings>
          ${this.goButton(table, working)}
          ${table.stored.photos.length > 0 ? html`<details><summary>How to take the photos</summary>${this.howTo()}</details>` : nothing}
        </section>
      </div>
      <gw-next-step .table=${table.id} step="photos" .ready=${table.measured && !table.stale}></gw-next-step>
    `;
  }

  private goButton(table: OpenTable, working: boolean) {
    if (working) return nothing;
    const sending = table.uploads.some((u) => u.status !== 'refused');
    const count = table.stored.photos.length;
    const says = table.measured ? 'Measure again' : 'Measure';
    return html`<div class="go">
      <button class=${table.measured && !table.stale ? '' : 'main'} ?disabled=${count === 0 || sending} @mousedown=${stay} @click=${this.measure}>
        ${says}${count > 1 ? ` from ${count} photos` : ''}
      </button>
      ${this.toMend === null ? nothing : html`<p class="wrong" role="alert">Measuring did not begin. Put this right first: “${this.toMend}”.</p>`}
      ${count === 0 ? html`<p class="quiet">Add a photo first.</p>` : nothing}
      ${sending ? html`<p class="quiet">Wait until the photos are sent.</p>` : nothing}
      ${table.measured && table.stale ? html`<p>Photos or settings have changed since the last measurement.</p>` : nothing}
      ${table.measured && !table.stale ? html`<p class="quiet">Measured. The plan is at the next step.</p>` : nothing}
    </div>`;
  }

  private take(settings: Settings): void {
    this.toMend = null;
    session.edit({ settings });
  }

  /** With an entry that cannot be taken it would be measured by the one before, which is no longer to be seen. */
  private readonly measure = async (): Promise<void> => {
    this.settings.takeTyped();
    const wrong = this.settings.wrongField;
    this.toMend = wrong?.label ?? null;
    if (wrong) {
      wrong.focus();
      wrong.scrollIntoView({ block: 'center' });
      return;
    }
    await session.measure();
    const status = this.table?.work.status;
    if (status !== 'queued' && status !== 'running' && status !== 'failed') return;
    // On a phone the button is far below; the progress is at the head, where a refusal stands too.
    await this.updateComplete;
    await this.progress.show();
  };

  private howTo() {
    return html`<ol>
      <li>Stand at the middle of a long side and hold the phone as high as you can, tilted down. From a ladder it gets better: someone holds the ladder.</li>
      <li>The whole table in the picture, with a hand’s width of floor around it, and every marker sheet.</li>
      <li>Bright, even light; no flash; no lamp mirrored in a sheet or a rail. Hold still.</li>
      <li>No zoom, no wide-angle, no portrait mode: the main camera as it is, the same for all photos. Not cropped afterwards.</li>
      <li>A second photo from the other side sees what the first one misses.</li>
    </ol>`;
  }
}

/** Left at once, a field may say that it is wrong, and the button would move away from under the pointer. */
function stay(event: MouseEvent): void {
  event.preventDefault();
}

/** Progress speaks of photos by id or by file; a person knows them by the name of the file. */
function nameOf(table: OpenTable): (photo: string) => string {
  return (photo) => table.stored.photos.find((p) => p.id === photo)?.name ?? photo;
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-photos-screen': PhotosScreen;
  }
}
