import { css, html, LitElement, svg } from 'lit';
import { customElement } from 'lit/decorators.js';
import { sharedStyle } from './shared-style.js';

/** A small pencil drawing: a table with a loop of track, and a marker sheet near each corner. */
@customElement('gw-lay-drawing')
export class LayDrawing extends LitElement {
  static override styles = [
    sharedStyle,
    css`
      svg {
        display: block;
        height: auto;
        max-width: 28rem;
        width: 100%;
      }
      .edge {
        fill: var(--sheet);
        stroke: var(--ink);
        stroke-width: 2;
      }
      .track {
        fill: none;
        stroke: var(--line);
        stroke-width: 3;
      }
      .sheet {
        fill: #fff;
        stroke: var(--ink);
        stroke-width: 1.5;
      }
      .square {
        fill: #111;
      }
    `,
  ];

  override render() {
    const places: [number, number, number][] = [
      [24, 18, -8],
      [318, 22, 12],
      [22, 128, 15],
      [316, 126, -5],
    ];
    const sheet = 'M0 0h30v40h-30z';
    const square = 'M6 10h18v18h-18z';
    return html`<svg viewBox="0 0 370 190" role="img" aria-label="Drawing: a table from above with a loop of track and four marker sheets, one near each corner">
      <path class="edge" d="M6 6H364V184H6z" />
      <path class="track" d="M120 40H250A55 55 0 0 1 250 150H120A55 55 0 0 1 120 40zM120 48H250A47 47 0 0 1 250 142H120A47 47 0 0 1 120 48zM120 56H250A39 39 0 0 1 250 134H120A39 39 0 0 1 120 56z" />
      ${places.map(
        ([x, y, turn]) =>
          svg`<g transform="translate(${x} ${y}) rotate(${turn})"><path class="sheet" d=${sheet} /><path class="square" d=${square} /></g>`,
      )}
    </svg>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-lay-drawing': LayDrawing;
  }
}
