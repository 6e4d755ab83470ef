import { css, html, LitElement } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { footprints } from '../text/footprints.js';
import { sharedStyle } from './shared-style.js';

/** What a touch on the picture does while wishes are made: 'look', 'room', 'stay', or the place of a footprint in its list. */
export type WishTouch = 'look' | 'room' | 'stay' | number;

/** What the picture then asks for; empty when a touch only looks. */
export function touchHint(touch: WishTouch): string {
  if (touch === 'look') return '';
  if (touch === 'room') return 'Touch how far in from the side the rails must stay away.';
  if (touch === 'stay') return 'Touch each piece that must stay where it is; once more lets it move again.';
  return `Touch where the middle of it stands: ${footprints[touch].name}.`;
}

/** Says what a touch on the picture does. Fires `touch` with a WishTouch. */
@customElement('gw-touch-choice')
export class TouchChoice extends LitElement {
  @property({ attribute: false }) touch: WishTouch = 'look';

  static override styles = [
    sharedStyle,
    css`
      label {
        margin-top: 0.3rem;
      }
      p {
        margin: 0.2rem 0 0;
      }
    `,
  ];

  override render() {
    const option = (value: WishTouch, name: string) =>
      html`<option value=${value} ?selected=${value === this.touch}>${name}</option>`;
    return html`<label class="field"
        >A touch on the picture
        <select @change=${this.change}>
          ${option('look', 'shows what lies there')} ${option('room', 'wishes room along a side')}
          ${option('stay', 'makes a piece stay')}
          <optgroup label="puts down">${footprints.map((f, i) => option(i, f.name))}</optgroup>
        </select></label
      >
      <p class="quiet" role="status">${touchHint(this.touch)}</p>`;
  }

  private change(event: Event): void {
    const { value } = event.target as HTMLSelectElement;
    const detail = (/^\d+$/.test(value) ? Number(value) : value) as WishTouch;
    this.dispatchEvent(new CustomEvent<WishTouch>('touch', { detail }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-touch-choice': TouchChoice;
  }
}
