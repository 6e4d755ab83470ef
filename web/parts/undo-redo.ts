import { css, html, LitElement, svg } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { sharedStyle } from './shared-style.js';

const back = svg`<path d="M9 5 4 10l5 5M4 10h9a5 5 0 0 1 0 10h-3" />`;
const forth = svg`<path d="m15 5 5 5-5 5M20 10h-9a5 5 0 0 0 0 10h3" />`;

/** One step back or forth in everything that was changed on this table. Fires `undo` and `redo`. */
@customElement('gw-undo-redo')
export class UndoRedo extends LitElement {
  @property({ type: Boolean }) canUndo = false;
  @property({ type: Boolean }) canRedo = false;

  static override styles = [
    sharedStyle,
    css`
      div {
        display: flex;
        gap: 0.3rem;
      }
      button.small {
        padding: 0;
      }
      button[disabled] {
        opacity: 0.6;
      }
      svg {
        display: block;
        height: 1.5rem;
        width: 1.5rem;
      }
      path {
        fill: none;
        stroke: currentColor;
        stroke-linecap: round;
        stroke-linejoin: round;
        stroke-width: 2.2;
      }
    `,
  ];

  override render() {
    return html`<div>${this.button('Undo', back, this.canUndo)}${this.button('Redo', forth, this.canRedo)}</div>`;
  }

  private button(name: 'Undo' | 'Redo', drawing: unknown, can: boolean) {
    return html`<button
      class="small"
      aria-label=${name}
      title=${name}
      ?disabled=${!can}
      @click=${() => this.dispatchEvent(new CustomEvent(name.toLowerCase()))}
    >
      <svg viewBox="0 0 24 24" aria-hidden="true">${drawing}</svg>
    </button>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-undo-redo': UndoRedo;
  }
}
