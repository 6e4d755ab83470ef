import { html, LitElement, nothing, type PropertyValues } from 'lit';
import { customElement, property, query, state } from 'lit/decorators.js';
import { Gestures } from '../canvas/gestures.js';
import type { LabelWish, Layer, Mark } from '../canvas/marks.js';
import { nearestThing } from '../canvas/nearest-thing.js';
import { PictureLoader, type PictureSource } from '../canvas/picture-loader.js';
import type { NameWish } from '../canvas/side-names.js';
import {
  fitView,
  greatestScale,
  keepInSight,
  type Point,
  pictureFromScreen,
  type Size,
  screenFromPicture,
  type View,
  viewOn,
  zoomAt,
} from '../canvas/view.js';
import type { Handle } from '../canvas/wish-marks.js';
import './picture-loupe.js';
import './picture-overlay.js';
import { pictureStyle } from './picture-style.js';
import { sharedStyle } from './shared-style.js';

/** How near a tap must come to a thing, CSS pixels. */
const reachPx = 24;

/**
 * A picture with the drawing on it: pan, pinch, wheel, keys; a magnifier under a resting finger. Knows no trade.
 * Fires `choose` with the id of the thing tapped (or null), `handle-drag` with a handle's id and its place in picture
 * pixels, `handle-drop` when it is let go, and while it aims `pick` with the place tapped, or in the middle at Enter.
 */
@customElement('gw-picture-view')
export class PictureView extends LitElement {
  @property() label = '';
  /** Which picture it is: another one is shown whole, the same one stays as it was looked at. */
  @property() picture = '';
  /** Size of the picture frame; the source may be missing (an empty sheet). */
  @property({ attribute: false }) size: Size = { width: 1, height: 1 };
  @property({ attribute: false }) source: PictureSource | null = null;
  @property({ attribute: false }) marks: readonly Mark[] = [];
  @property({ attribute: false }) wishes: readonly LabelWish[] = [];
  @property({ attribute: false }) names: readonly NameWish[] = [];
  @property({ attribute: false }) textOf: (thing: string) => { text: string; spoken: string } = (thing) => ({
    text: thing,
    spoken: thing,
  });
  @property({ attribute: false }) shown: ReadonlySet<Layer> = new Set();
  @property() chosen: string | null = null;
  @property({ attribute: false }) handles: readonly Handle[] = [];
  /** What a tap is to point at; empty: a tap chooses what lies there. */
  @property() aim = '';
  @state() private view: View | null = null;
  @state() private box: Size = { width: 0, height: 0 };
  @state() private loupe: Point | null = null;
  @query('.stage') private stage!: HTMLElement;
  @query('canvas') private canvas!: HTMLCanvasElement;
  private touched = false;
  private grabbed: { id: string; gesture: string } | null = null;

  private readonly loader = new PictureLoader(() => this.requestUpdate());
  private readonly sizes = new ResizeObserver(() => this.measureBox());
  private readonly gestures = new Gestures(this, () => this.stage, {
    onMove: (dx, dy) => this.setView({ ...this.now, left: this.now.left + dx, top: this.now.top + dy }),
    onZoom: (factor, at) => this.setView(zoomAt(this.now, factor, at, this.limits)),
    onGrab: (at) => this.grab(at),
    onDrag: (at, finger) => this.drag(at, finger),
    onDrop: () => this.drop(),
    onTap: (at) => this.tap(at),
    onFit: () => this.fit(),
    onEnter: () => this.pickMiddle(),
    onLoupe: (at) => (this.loupe = at),
  });

  static override styles = [sharedStyle, pictureStyle];

  override render() {
    const { view } = this;
    return html`
      <div
        class="stage ${this.source ? '' : 'sheet'} ${this.aim ? 'aims' : ''}"
        tabindex="0"
        role="group"
        aria-label="${this.label}. Arrow keys move it, plus and minus look nearer or farther, 0 shows all.${this.aim ? ` ${this.aim} Enter takes the place under the cross in the middle.` : ''}"
        @pointerdown=${this.gestures.down}
        @pointermove=${this.gestures.move}
        @pointerup=${this.gestures.up}
        @pointercancel=${this.gestures.up}
        @keydown=${this.gestures.key}
      >
        <canvas aria-hidden="true"></canvas>
        ${
          view
            ? html`<gw-picture-overlay
                .view=${view}
                .size=${this.size}
                .marks=${this.marks}
                .wishes=${this.wishes}
                .names=${this.names}
                .textOf=${this.textOf}
                .shown=${this.shown}
                .chosen=${this.chosen}
                .handles=${this.handles}
              ></gw-picture-overlay>`
            : nothing
        }
        ${this.aim ? html`<span class="cross" aria-hidden="true"></span>` : nothing}
        ${this.loader.failed ? html`<p class="failed" role="status">The picture could not be fetched; the drawing is still right.</p>` : nothing}
      </div>
      ${
        this.loupe && view
          ? html`<gw-picture-loupe .bitmap=${this.loader.bitmap} .size=${this.size} .marks=${this.marks} .view=${view} .at=${this.loupe} .box=${this.box}></gw-picture-loupe>`
          : nothing
      }
      <div class="tools"><slot></slot>
        <button class="small" aria-label="Look nearer" @click=${() => this.zoom(1.5)}>+</button>
        <button class="small" aria-label="Look from farther" @click=${() => this.zoom(1 / 1.5)}>−</button>
        <button class="small" @click=${() => this.fit()}>All</button>
      </div>
    `;
  }

  protected override firstUpdated(): void {
    this.stage.addEventListener('wheel', this.gestures.wheel, { passive: false });
    this.sizes.observe(this.stage);
    this.measureBox();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.sizes.disconnect();
    this.loader.forget();
  }

  override connectedCallback(): void {
    super.connectedCallback();
    if (this.hasUpdated) this.sizes.observe(this.stage);
  }

  protected override willUpdate(changed: PropertyValues<this>): void {
    const sizeBefore = changed.get('size');
    const { width, height } = this.size;
    const isOther =
      changed.has('picture') || (sizeBefore && (sizeBefore.width !== width || sizeBefore.height !== height));
    if (isOther) {
      this.touched = false;
      this.view = null;
    }
    if (!this.view && this.box.width > 0) this.view = fitView(this.size, this.box);
    if ((changed.has('chosen') || isOther) && this.chosen) this.bringIntoSight(this.chosen);
  }

  protected override updated(): void {
    // Set by script, not by a style attribute, which the page's security policy refuses.
    this.stage.style.aspectRatio = `${this.size.width} / ${this.size.height}`;
    const { view } = this;
    if (!view) return;
    const ratio = window.devicePixelRatio;
    this.loader.show(this.source, this.size.width * view.scale * ratio * (this.loupe ? 3 : 1));
    this.paint(view, ratio);
  }

  private paint(view: View, ratio: number): void {
    const { canvas } = this;
    const [width, height] = [Math.round(this.box.width * ratio), Math.round(this.box.height * ratio)];
    if (canvas.width !== width || canvas.height !== height) Object.assign(canvas, { width, height });
    const context = canvas.getContext('2d', { alpha: true });
    if (!context) return;
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.clearRect(0, 0, width, height);
    const bitmap = this.source ? this.loader.bitmap : null;
    if (!bitmap) return;
    context.imageSmoothingEnabled = view.scale * ratio < 4;
    context.setTransform(ratio, 0, 0, ratio, view.left * ratio, view.top * ratio);
    context.drawImage(bitmap, 0, 0, this.size.width * view.scale, this.size.height * view.scale);
  }

  private get now(): View {
    return this.view ?? fitView(this.size, this.box);
  }

  private get limits(): { least: number; most: number } {
    return { least: fitView(this.size, this.box).scale, most: greatestScale(this.size, this.box) };
  }

  private setView(view: View): void {
    this.touched = true;
    this.view = keepInSight(view, this.size, this.box);
  }

  private zoom(factor: number): void {
    this.setView(zoomAt(this.now, factor, { x: this.box.width / 2, y: this.box.height / 2 }, this.limits));
  }

  private fit(): void {
    this.touched = false;
    this.view = fitView(this.size, this.box);
  }

  private grab(at: Point): boolean {
    const near = this.handles.find((h) => {
      const p = screenFromPicture(this.now, h.at);
      return Math.hypot(p.x - at.x, p.y - at.y) <= reachPx;
    });
    this.grabbed = near ? { id: near.id, gesture: `${near.id} ${performance.now()}` } : null;
    return near !== undefined;
  }

  private drag(at: Point, finger: boolean): void {
    if (!this.grabbed) return;
    if (finger) this.loupe = at;
    const detail = { ...this.grabbed, at: pictureFromScreen(this.now, at) };
    this.dispatchEvent(new CustomEvent<PictureDrag>('handle-drag', { detail }));
  }

  private drop(): void {
    this.loupe = null;
    if (this.grabbed) this.dispatchEvent(new CustomEvent<string>('handle-drop', { detail: this.grabbed.id }));
    this.grabbed = null;
  }

  private pickMiddle(): boolean {
    if (this.aim) this.pick({ x: this.box.width / 2, y: this.box.height / 2 });
    return this.aim !== '';
  }

  private pick(at: Point): void {
    this.dispatchEvent(new CustomEvent<Point>('pick', { detail: pictureFromScreen(this.now, at) }));
  }

  private tap(at: Point): void {
    if (this.aim) {
      this.pick(at);
      return;
    }
    const overlay = this.renderRoot.querySelector('gw-picture-overlay');
    const near = nearestThing(
      this.marks.filter((mark) => this.shown.has(mark.layer)),
      pictureFromScreen(this.now, at),
      reachPx / this.now.scale,
    );
    const thing = overlay?.labelAt(at) ?? near;
    this.dispatchEvent(new CustomEvent<string | null>('choose', { detail: thing }));
  }

  /** Choosing a thing shows it: so near that it can be judged, in the middle. */
  private bringIntoSight(thing: string): void {
    const points = this.marks.find((mark) => mark.thing === thing)?.lines.flat() ?? [];
    if (points.length === 0 || this.box.width === 0) return;
    this.setView(viewOn(points, this.box, 0.3, { least: this.limits.least, most: Math.min(this.limits.most, 2) }));
  }

  private measureBox(): void {
    const { clientWidth: width, clientHeight: height } = this.stage;
    if (width === this.box.width && height === this.box.height) return;
    this.box = { width, height };
    this.view = this.touched && this.view ? keepInSight(this.view, this.size, this.box) : null;
  }
}

/** A handle on its way. `gesture` is the same for all events of one drag. */
export interface PictureDrag {
  readonly id: string;
  readonly gesture: string;
  readonly at: Point;
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-picture-view': PictureView;
  }
}
