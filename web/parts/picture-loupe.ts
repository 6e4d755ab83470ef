import { css, html, LitElement } from 'lit';
import { customElement, property, query } from 'lit/decorators.js';
import type { Mark } from '../canvas/marks.js';
import { type Point, pictureFromScreen, type Size, type View } from '../canvas/view.js';

const sidePx = 150;
/** How much larger than the view around it. */
const times = 3;

/** A magnifier above the finger that would hide what it points at. */
@customElement('gw-picture-loupe')
export class PictureLoupe extends LitElement {
  @property({ attribute: false }) bitmap: ImageBitmap | null = null;
  @property({ attribute: false }) size: Size = { width: 1, height: 1 };
  @property({ attribute: false }) marks: readonly Mark[] = [];
  @property({ attribute: false }) view: View = { scale: 1, left: 0, top: 0 };
  @property({ attribute: false }) at: Point = { x: 0, y: 0 };
  @property({ attribute: false }) box: Size = { width: 1, height: 1 };
  @query('canvas') private canvas!: HTMLCanvasElement;

  static override styles = css`
    :host {
      pointer-events: none;
      position: absolute;
    }
    canvas {
      background: var(--well);
      border: 3px solid var(--ink);
      border-radius: 50%;
      display: block;
    }
  `;

  override render() {
    return html`<canvas width=${sidePx * 2} height=${sidePx * 2} aria-hidden="true"></canvas>`;
  }

  protected override updated(): void {
    const above = this.at.y > sidePx + 40 ? this.at.y - sidePx - 30 : this.at.y + 40;
    this.style.left = `${Math.min(Math.max(0, this.at.x - sidePx / 2), this.box.width - sidePx)}px`;
    this.style.top = `${above}px`;
    this.canvas.style.width = `${sidePx}px`;
    this.canvas.style.height = `${sidePx}px`;
    this.paint();
  }

  private paint(): void {
    const context = this.canvas.getContext('2d');
    if (!context) return;
    const scale = this.view.scale * times * 2;
    const centre = pictureFromScreen(this.view, this.at);
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.clearRect(0, 0, sidePx * 2, sidePx * 2);
    context.setTransform(scale, 0, 0, scale, sidePx - (centre.x + 0.5) * scale, sidePx - (centre.y + 0.5) * scale);
    if (this.bitmap) context.drawImage(this.bitmap, 0, 0, this.size.width, this.size.height);
    context.translate(0.5, 0.5);
    context.lineWidth = 3 / scale;
    context.strokeStyle = '#b3360f';
    context.beginPath();
    for (const line of this.marks.flatMap((mark) => mark.lines)) {
      for (const [i, p] of line.entries()) {
        if (i === 0) context.moveTo(p.x, p.y);
        else context.lineTo(p.x, p.y);
      }
    }
    context.stroke();
    context.beginPath();
    context.strokeStyle = '#ffffff';
    context.arc(centre.x, centre.y, 8 / scale, 0, 2 * Math.PI);
    context.stroke();
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-picture-loupe': PictureLoupe;
  }
}
