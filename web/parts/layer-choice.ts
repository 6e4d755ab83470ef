import { css, html, LitElement } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Layer } from '../canvas/marks.js';
import { sharedStyle } from './shared-style.js';

const names: readonly { layer: Layer; name: string }[] = [
  { layer: 'lengths', name: 'Lengths' },
  { layer: 'gaps', name: 'Gaps' },
  { layer: 'clearances', name: 'Clearances and spacing' },
  { layer: 'rails', name: 'Rails' },
  { layer: 'joints', name: 'Closed joints' },
  { layer: 'edge', name: 'Table edge' },
  { layer: 'hidden', name: 'Not seen' },
  { layer: 'markers', name: 'Markers' },
  { layer: 'corrections', name: 'Corrections' },
];

/** What is drawn on the picture. Fires `layers` with the new set. */
@customElement('gw-layer-choice')
export class LayerChoice extends LitElement {
  @property({ attribute: false }) shown: ReadonlySet<Layer> = new Set();

  static override styles = [
    sharedStyle,
    css`
      div {
        display: grid;
        gap: 0 1rem;
        grid-template-columns: repeat(auto-fill, minmax(9.5rem, 1fr));
      }
      /* The picture above stays in sight while one scrolls: the list must leave room below. */
      @media (max-width: 59.9rem) {
        div {
          max-height: 9rem;
          overflow-y: auto;
        }
      }
    `,
  ];

  override render() {
    return html`<details>
      <summary>What is drawn</summary>
      <div>
        ${names.map(
          ({ layer, name }) => html`<label class="tick"
            ><input type="checkbox" .checked=${this.shown.has(layer)} @change=${() => this.toggle(layer)} />${name}</label
          >`,
        )}
      </div>
    </details>`;
  }

  private toggle(layer: Layer): void {
    const next = new Set(this.shown);
    if (!next.delete(layer)) next.add(layer);
    this.dispatchEvent(new CustomEvent<ReadonlySet<Layer>>('layers', { detail: next }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-layer-choice': LayerChoice;
  }
}
