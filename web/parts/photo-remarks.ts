import { css, html, LitElement, nothing, type PropertyValues } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { ReportPhoto } from '../../server/contract/report.js';
import type { StoredPhoto } from '../../server/contract/tables.js';
import { photoViewUrl } from '../api/tables-api.js';
import { type FirstLook, type Remark, remarksOn } from '../canvas/first-look.js';
import { lookAtPhoto } from '../canvas/look-at-photo.js';
import './remark-drawing.js';
import { sharedStyle } from './shared-style.js';

const texts: Record<Remark, { sentence: string; nextStep: string }> = {
  blurred: {
    sentence: 'It is not quite sharp.',
    nextStep: 'Hold the phone with both hands, lean against something, and use more light.',
  },
  glare: {
    sentence: 'Much of it is pure white.',
    nextStep: 'Switch off the flash, turn away from the lamp, or tilt the phone a little.',
  },
  dark: { sentence: 'It is very dark.', nextStep: 'Switch on more light, from the side if you can.' },
};

/** A photo keeps its looks: each is looked at once. */
const looks = new Map<string, Promise<FirstLook>>();

/** What can be said of a stored photo: at first sight, and after measuring which markers it shows. */
@customElement('gw-photo-remarks')
export class PhotoRemarks extends LitElement {
  @property() table = '';
  @property({ attribute: false }) photo: StoredPhoto | null = null;
  /** The photo in the report; null before measuring. */
  @property({ attribute: false }) measured: ReportPhoto | null = null;
  @state() private look: FirstLook | 'looking' | 'unknown' = 'looking';
  private stop = new AbortController();

  static override styles = [
    sharedStyle,
    css`
      .remark {
        align-items: center;
        display: flex;
        gap: 0.75rem;
        margin: 0.25rem 0 0.5rem;
      }
      p {
        margin: 0;
      }
    `,
  ];

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.stop.abort();
  }

  protected override willUpdate(changed: PropertyValues<this>): void {
    if (changed.has('photo') && this.photo) void this.lookAt(this.photo);
  }

  override render() {
    if (this.look === 'looking') return html`<p class="quiet" role="status">Looking at it…</p>`;
    const remarks = this.look === 'unknown' ? [] : remarksOn(this.look);
    // A picture without any edge says nothing of sharpness, so nothing is said.
    const fine = this.look !== 'unknown' && this.look.edgeWidthPx !== null && remarks.length === 0;
    return html`${remarks.map(
      (remark) => html`<div class="remark" data-remark=${remark}>
        <gw-remark-drawing .remark=${remark}></gw-remark-drawing>
        <p><b>${texts[remark].sentence}</b> ${texts[remark].nextStep}</p>
      </div>`,
    )}
    ${fine && !this.measured ? html`<p class="quiet">Sharp and bright enough.</p>` : nothing}
    ${this.markers()}`;
  }

  private markers() {
    if (!this.measured) return nothing;
    const used = this.measured.markers.filter((m) => m.used).map((m) => m.id);
    const aside = this.measured.markers.filter((m) => !m.used);
    return html`<p class="quiet">
      ${used.length === 0 ? 'No marker used.' : `${used.length === 1 ? 'Marker' : 'Markers'} ${used.join(', ')} used.`}
      ${aside.map((m) => html`Marker ${m.id} set aside${m.reason ? `: ${m.reason}` : ''}. `)}
    </p>`;
  }

  private async lookAt(photo: StoredPhoto): Promise<void> {
    this.stop.abort();
    this.stop = new AbortController();
    const { signal } = this.stop;
    this.look = 'looking';
    const key = `${this.table}/${photo.id}`;
    const look = looks.get(key) ?? lookAtPhoto(photoViewUrl(this.table, photo.id, 4096), signal);
    looks.set(key, look);
    try {
      const found = await look;
      if (!signal.aborted) this.look = found;
    } catch {
      // No picture to look at (or the screen was left): nothing is said, and it is tried again next time.
      looks.delete(key);
      if (!signal.aborted) this.look = 'unknown';
    }
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-photo-remarks': PhotoRemarks;
  }
}
