import { css, html, LitElement, nothing } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import { sharedStyle } from './shared-style.js';

const kinds = 'image/jpeg,image/png,image/webp,image/heic,image/heif,.heic,.heif';

/** A device to be touched has a camera worth asking for, and nothing to drag. */
const touch = navigator.maxTouchPoints > 0;

/** Takes photos: dropped, chosen, or from the phone's camera. Fires `photos` with the files as detail. */
@customElement('gw-photo-drop')
export class PhotoDrop extends LitElement {
  @state() private over = false;

  static override styles = [
    sharedStyle,
    css`
      .area {
        border: 3px dashed var(--line);
        padding: 1rem;
      }
      .over {
        background: var(--wash);
        border-color: var(--accent);
        border-style: solid;
      }
      .row {
        align-items: center;
        margin-bottom: 0.5rem;
      }
      p {
        margin: 0;
      }
    `,
  ];

  override render() {
    return html`<div
      class="area ${this.over ? 'over' : ''}"
      @dragover=${this.dragOver}
      @dragleave=${() => (this.over = false)}
      @drop=${this.drop}
    >
      <div class="row">
        ${touch ? html`<button class="main" @click=${() => this.open('camera')}>Take a photo</button>` : nothing}
        <button class=${touch ? '' : 'main'} @click=${() => this.open('files')}>Choose photos</button>
        ${touch ? nothing : html`<span class="quiet">or drop them here</span>`}
      </div>
      <p class="quiet">JPEG, PNG, WebP or HEIC, as the camera saved them. Several at once are fine.</p>
      <input hidden id="files" type="file" accept=${kinds} multiple aria-label="Photos" @change=${this.chosen} />
      <input hidden id="camera" type="file" accept="image/*" capture="environment" aria-label="Camera" @change=${this.chosen} />
    </div>`;
  }

  private open(which: 'files' | 'camera'): void {
    (this.renderRoot.querySelector(`#${which}`) as HTMLInputElement).click();
  }

  private chosen(event: Event): void {
    const input = event.target as HTMLInputElement;
    this.tell([...(input.files ?? [])]);
    input.value = '';
  }

  private dragOver(event: DragEvent): void {
    event.preventDefault();
    this.over = true;
  }

  private drop(event: DragEvent): void {
    event.preventDefault();
    this.over = false;
    this.tell([...(event.dataTransfer?.files ?? [])]);
  }

  private tell(files: File[]): void {
    if (files.length > 0) this.dispatchEvent(new CustomEvent<File[]>('photos', { detail: files }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-photo-drop': PhotoDrop;
  }
}
