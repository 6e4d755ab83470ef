import { css, html, LitElement, svg } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Remark } from '../canvas/first-look.js';

const drawings: Record<Remark, ReturnType<typeof svg>> = {
  blurred: svg`<path class="faint" d="M14 14h30v30H14zM18 18h30v30H18z" /><path d="M16 16h30v30H16z" /><path d="M4 30H12M50 30h8M8 26l-4 4 4 4M54 26l4 4-4 4" />`,
  glare: svg`<path d="M10 50H54M16 44h32v6H16z" /><path d="M32 6v6M22 9l4 6M42 9l-4 6M32 40V20M32 20l-8 8M32 20l8 8" />`,
  dark: svg`<path d="M10 50H54" /><path d="M26 20a8 8 0 1 1 12 0c-2 3-2 5-2 8h-8c0-3 0-5-2-8zM28 32h8" /><path class="faint" d="M14 14l5 3M50 14l-5 3M12 28h6M52 28h-6" />`,
};

/** A small pencil drawing to a remark about a photo. */
@customElement('gw-remark-drawing')
export class RemarkDrawing extends LitElement {
  @property() remark: Remark = 'blurred';

  static override styles = css`
    svg {
      display: block;
      flex: none;
      height: 4rem;
      width: 4rem;
    }
    path {
      fill: none;
      stroke: var(--ink);
      stroke-width: 2.5;
    }
    .faint {
      stroke-opacity: 0.4;
    }
  `;

  override render() {
    return html`<svg viewBox="0 0 64 60" aria-hidden="true">${drawings[this.remark]}</svg>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-remark-drawing': RemarkDrawing;
  }
}
