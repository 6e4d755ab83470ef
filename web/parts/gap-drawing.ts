import { css, html, LitElement } from 'lit';
import { customElement } from 'lit/decorators.js';
import { sharedStyle } from './shared-style.js';

/** A small pencil drawing: track near a table edge, with the gap and the rail-to-edge clearance named. */
@customElement('gw-gap-drawing')
export class GapDrawing extends LitElement {
  static override styles = [
    sharedStyle,
    css`
      svg {
        display: block;
        height: auto;
        max-width: 44rem;
        width: 100%;
      }
      .rail {
        stroke: var(--ink);
        stroke-width: 3;
      }
      .tie {
        stroke: var(--line);
        stroke-width: 5;
      }
      .edge {
        stroke: var(--ink);
        stroke-width: 2;
      }
      .mark {
        fill: none;
        stroke: var(--accent);
        stroke-width: 2;
      }
      text {
        fill: var(--ink);
        font: 17px var(--hand);
      }
    `,
  ];

  override render() {
    const ties = [40, 120, 200, 420, 500, 580];
    return html`<svg viewBox="0 0 640 150" role="img" aria-label="Drawing: two sections of track with a gap between them, beside the edge of the table">
      <path class="tie" d=${ties.map((x) => `M${x} 22V78`).join('')} />
      <path class="rail" d="M10 30H240M10 50H240M10 70H240M380 30H630M380 50H630M380 70H630" />
      <path class="edge" d="M10 128H630M22 128l-8 10M52 128l-8 10M82 128l-8 10M112 128l-8 10M142 128l-8 10M172 128l-8 10" />
      <path class="mark" d="M240 16V88M380 16V88M240 50H380M248 45l-8 5 8 5M372 45l8 5-8 5" />
      <path class="mark" d="M540 72V128M535 80l5-8 5 8M535 120l5 8 5-8" />
      <text x="310" y="43" text-anchor="middle">gap</text>
      <text x="310" y="74" text-anchor="middle">filler goes here</text>
      <text x="528" y="106" text-anchor="end">room to the table edge</text>
    </svg>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-gap-drawing': GapDrawing;
  }
}
