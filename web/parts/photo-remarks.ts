import { css, html, LitElement, nothing, type PropertyValues } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { PhotoLook, PhotoRemark } from '../../server/contract/photo-look.js';
import type { ReportPhoto } from '../../server/contract/report.js';
import type { StoredPhoto } from '../../server/contract/tables.js';
import { tablesApi } from '../api/tables-api.js';
import './remark-drawing.js';
import { sharedStyle } from './shared-style.js';

const texts: Record<PhotoRemark, { sentence: string; nextStep: string }> = {
  'no-marker': {
    sentence: 'No marker can be read in it.',
    nextStep:
      'Lay a printed sheet flat on the table, face up, with nothing on it and no lamp mirrored in it, and come nearer.',
  },
  blurred: {
    sentence: 'It is not quite sharp.',
    nextStep: 'Hold the phone with both hands, lean against something, and use more light.',
  },
  cropped: {
    sentence: 'A part of it seems to have been cut away after it was taken.',
    nextStep: 'Send the photo as the camera took it: lengths are surer then.',
  },
  'table-cut': {
    sentence: 'The table runs out of the picture.',
    nextStep:
      'Step back or hold the phone higher. Or take another photo of the rest that shows one marker of this photo too.',
  },
  flat: {
    sentence: 'It looks along the table rather than down on it.',
    nextStep: 'Hold the phone higher and tilt it down: the far end is measured better then.',
  },
  'small-marker': {
    sentence: 'The markers are small in it.',
    nextStep: 'Come nearer, or print the marker larger.',
  },
  glare: {
    sentence: 'Part of it is pure white.',
    nextStep: 'Switch off the flash, turn away from the lamp, or tilt the phone a little.',
  },
  dark: { sentence: 'It is very dark.', nextStep: 'Switch on more light, from the side if you can.' },
};

/** What can be said of a stored photo: at first sight, and after measuring which markers it shows. */
@customElement('gw-photo-remarks')
export class PhotoRemarks extends LitElement {
  @property() table = '';
  @property({ attribute: false }) photo: StoredPhoto | null = null;
  /** The photo in the report; null before measuring. */
  @property({ attribute: false }) measured: ReportPhoto | null = null;
  @state() private look: PhotoLook | 'looking' | 'unknown' = 'looking';

  static override styles = [
    sharedStyle,
    css`
      .remark {
        align-items: start;
        display: flex;
        gap: 0.6rem;
        margin: 0.25rem 0 0.5rem;
      }
      p {
        margin: 0;
      }
    `,
  ];

  protected override willUpdate(changed: PropertyValues<this>): void {
    const before = changed.get('photo');
    if (changed.has('photo') && this.photo && before?.id !== this.photo.id) void this.lookAt(this.photo);
  }

  override render() {
    if (this.look === 'looking') return html`<p class="quiet" role="status">Looking at it…</p>`;
    const { look } = this;
    if (look === 'unknown') return this.markers();
    return html`${look.remarks.map(
      (remark) => html`<div class="remark" data-remark=${remark}>
        <gw-remark-drawing .remark=${remark}></gw-remark-drawing>
        <p><b>${texts[remark].sentence}</b> ${texts[remark].nextStep}</p>
      </div>`,
    )}
    ${this.measured ? nothing : html`<p class="quiet" role="status">${this.good(look)}</p>`}
    ${this.markers()}`;
  }

  /** What is right with it, so that a person knows that it was looked at. */
  private good({ remarks, markers, wholeTable }: PhotoLook): string {
    const said = [
      // A picture without any edge says nothing of sharpness, so nothing is said.
      remarks.includes('blurred') || remarks.includes('no-marker') ? null : 'sharp enough',
      markers.length === 0 ? null : `${markers.length === 1 ? 'marker' : 'markers'} ${markers.join(', ')} seen`,
      wholeTable ? 'the whole table in it' : null,
    ].filter((s) => s !== null);
    return said.length === 0 ? '' : `Looked at: ${said.join(', ')}.`;
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
    this.look = 'looking';
    const answer = await tablesApi.look(this.table, photo.id);
    // Meanwhile the row may show another photo.
    if (this.photo?.id === photo.id) this.look = answer.ok ? answer.value : 'unknown';
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-photo-remarks': PhotoRemarks;
  }
}
