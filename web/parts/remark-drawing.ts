import { css, html, LitElement, svg } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { PhotoRemark } from '../../server/contract/photo-look.js';

const drawings: Record<PhotoRemark, ReturnType<typeof svg>> = {
  'no-marker': svg`<path d="M6 50 16 22H48L58 50z" /><path d="M24 30h16v14H24z" /><path class="filled" d="M27 33h10v8H27z" /><path class="faint" d="M32 4v14M32 18l-5-5M32 18l5-5" />`,
  'small-marker': svg`<path d="M8 20h12v12H8z" /><path class="filled" d="M11 23h6v6h-6z" /><path d="M34 10h24v24H34z" /><path class="filled" d="M39 15h14v14H39z" /><path d="M8 48H56M50 43l6 5-6 5" />`,
  cropped: svg`<path class="faint" d="M6 8H58V52H6z" /><path d="M6 18H44V52H6z" /><path d="M50 2v56M2 13h60" stroke-dasharray="5 4" />`,
  'table-cut': svg`<path d="M8 8H56V46H8z" /><path d="M16 16H72M16 16V38H72" /><path class="faint" d="M32 58V50M32 50l-5 5M32 50l5 5M20 58V52M44 58V52" />`,
  flat: svg`<path d="M6 52H58" /><path class="faint" d="M56 34 18 50M50 30h10v7H50z" /><path d="M20 6h12v8H20zM26 14V46M26 46l-5-7M26 46l5-7" />`,
  blurred: svg`<path class="faint" d="M14 14h30v30H14zM18 18h30v30H18z" /><path d="M16 16h30v30H16z" /><path d="M4 30H12M50 30h8M8 26l-4 4 4 4M54 26l4 4-4 4" />`,
  glare: svg`<path d="M10 50H54M16 44h32v6H16z" /><path d="M32 6v6M22 9l4 6M42 9l-4 6M32 40V20M32 20l-8 8M32 20l8 8" />`,
  dark: svg`<path d="M10 50H54" /><path d="M26 20a8 8 0 1 1 12 0c-2 3-2 5-2 8h-8c0-3 0-5-2-8zM28 32h8" /><path class="faint" d="M14 14l5 3M50 14l-5 3M12 28h6M52 28h-6" />`,
};

/** A small pencil drawing to a remark about a photo. */
@customElement('gw-remark-drawing')
export class RemarkDrawing extends LitElement {
  @property() remark: PhotoRemark = 'blurred';

  static override styles = css`
    svg {
      display: block;
      flex: none;
      height: 3.25rem;
      width: 3.25rem;
    }
    path {
      fill: none;
      stroke: var(--ink);
      stroke-width: 2.5;
    }
    .filled {
      fill: var(--ink);
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
