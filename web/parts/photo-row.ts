import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { StoredPhoto } from '../../server/contract/tables.js';
import { photoViewUrl } from '../api/tables-api.js';
import { sharedStyle } from './shared-style.js';

/** One stored photo: small picture, name, size, and how to take it away. Fires `remove`. The slot takes remarks. */
@customElement('gw-photo-row')
export class PhotoRow extends LitElement {
  @property() table = '';
  @property({ attribute: false }) photo: StoredPhoto | null = null;
  @state() private asked = false;

  static override styles = [
    sharedStyle,
    css`
      .line {
        border-top: 1px solid var(--line);
        display: grid;
        gap: 0.25rem 1rem;
        grid-template-columns: 7rem minmax(0, 1fr);
        padding: 0.75rem 0;
      }
      img {
        background: var(--well);
        display: block;
        height: 5.25rem;
        object-fit: cover;
        width: 7rem;
      }
      p {
        margin: 0;
      }
    `,
  ];

  override render() {
    const photo = this.photo;
    if (!photo) return nothing;
    return html`<div class="line">
      <img src=${photoViewUrl(this.table, photo.id, 800)} alt="Photo ${photo.name}" loading="lazy" decoding="async" />
      <div>
        <p><b>${photo.name}</b></p>
        <p class="quiet">${photo.widthPx} × ${photo.heightPx} pixels, ${fileSize(photo.bytes)}</p>
        <slot></slot>
        ${
          this.asked
            ? html`<div class="row">
                <button class="small" @click=${() => this.dispatchEvent(new CustomEvent('remove'))}>Take it away</button>
                <button class="small" @click=${() => (this.asked = false)}>Keep it</button>
              </div>`
            : html`<button class="small" aria-label="Take away ${photo.name}…" @click=${() => (this.asked = true)}>Take away…</button>`
        }
      </div>
    </div>`;
  }
}

function fileSize(bytes: number): string {
  return bytes < 1e6 ? `${Math.max(1, Math.round(bytes / 1000))} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-photo-row': PhotoRow;
  }
}
