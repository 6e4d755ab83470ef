import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Upload } from '../state/app-state.js';
import { sharedStyle } from './shared-style.js';
import './trouble-note.js';

/** A photo on its way to the server. Fires `repeat` and `forget`. */
@customElement('gw-upload-row')
export class UploadRow extends LitElement {
  @property({ attribute: false }) upload: Upload | null = null;

  static override styles = [
    sharedStyle,
    css`
      div.line {
        border-top: 1px solid var(--line);
        padding: 0.75rem 0;
      }
      progress {
        accent-color: var(--accent);
        display: block;
        height: 1rem;
        width: 100%;
      }
    `,
  ];

  override render() {
    const upload = this.upload;
    if (!upload) return nothing;
    const percent = Math.round(upload.ratio * 100);
    const says = {
      waiting: 'waiting',
      sending: upload.ratio < 1 ? `sending, ${percent} %` : 'sent, being looked at',
      failed: 'interrupted; tried again by itself',
      refused: 'not taken',
    }[upload.status];
    return html`<div class="line">
      <p><b>${upload.name}</b> <span class="quiet">${says}</span></p>
      ${
        upload.status === 'sending'
          ? html`<progress max="1" .value=${upload.ratio} aria-label="Sending ${upload.name}"></progress>`
          : nothing
      }
      ${
        upload.trouble
          ? html`<gw-trouble-note .trouble=${upload.trouble}>
              <div class="row">
                <button class="small" @click=${() => this.tell('repeat')}>Try again</button>
                <button class="small" @click=${() => this.tell('forget')}>Leave it out</button>
              </div>
            </gw-trouble-note>`
          : nothing
      }
    </div>`;
  }

  private tell(what: 'repeat' | 'forget'): void {
    this.dispatchEvent(new CustomEvent(what));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-upload-row': UploadRow;
  }
}
