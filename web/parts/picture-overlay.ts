import { html, LitElement, nothing, type PropertyValues, svg } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { LabelWish, Layer, Mark } from '../canvas/marks.js';
import {
  boxAround,
  leaderEnd,
  type PlacedLabel,
  placeLabels,
  type Rect,
  type Segment,
} from '../canvas/place-labels.js';
import { discBox, type NameWish, nameRadiusPx, type PlacedName, placeNames } from '../canvas/side-names.js';
import { type Point, type Size, screenFromPicture, svgTransform, type View } from '../canvas/view.js';
import type { Handle } from '../canvas/wish-marks.js';
import { pictureOverlayStyle } from './picture-overlay-style.js';
import { tintFill, tintPatterns, tintStyle } from './tint-style.js';

const labelFont = '600 13px system-ui, sans-serif';
const labelHeightPx = 22;
const handleReachPx = 14;
/** Lengths of sections are many: they are written once there is room for them beside their section. */
const pieceRank = 6;
const roomyShare = 1.6;

/** What a handle does, drawn into it; others move in every direction. */
const handleDrawings: Readonly<Record<string, string>> = {
  turn: 'M-5 3A6 6 0 1 1 5 3M5 3l-5 0M5 3l0-5',
  corner: 'M-5 6V-5H6',
  bandFrom: 'M-7 0H7M-7 0l4-4M-7 0l4 4',
  bandTo: 'M-7 0H7M7 0l-4-4M7 0l-4 4',
};

/** The drawing on a picture: lines in picture pixels, labels in screen pixels that never cover each other or a gap. */
@customElement('gw-picture-overlay')
export class PictureOverlay extends LitElement {
  @property({ attribute: false }) view: View = { scale: 1, left: 0, top: 0 };
  @property({ attribute: false }) size: Size = { width: 1, height: 1 };
  @property({ attribute: false }) marks: readonly Mark[] = [];
  @property({ attribute: false }) wishes: readonly LabelWish[] = [];
  /** Letters that name lines; each lies beside its line and no label lies on it. */
  @property({ attribute: false }) names: readonly NameWish[] = [];
  @property({ attribute: false }) textOf: (thing: string) => { text: string; spoken: string } = (thing) => ({
    text: thing,
    spoken: thing,
  });
  @property({ attribute: false }) shown: ReadonlySet<Layer> = new Set();
  @property() chosen: string | null = null;
  @property({ attribute: false }) handles: readonly Handle[] = [];
  private labels: readonly PlacedLabel[] = [];
  private named: readonly PlacedName[] = [];
  private paths = new Map<Mark, string>();

  static override styles = [pictureOverlayStyle, tintStyle];

  protected override willUpdate(changed: PropertyValues<this>): void {
    if (changed.has('marks')) this.paths = new Map(this.marks.map((mark) => [mark, pathOf(mark)]));
    const before = changed.get('view');
    const zoomed = !before || before.scale !== this.view.scale;
    if (
      changed.has('marks') ||
      changed.has('handles') ||
      changed.has('wishes') ||
      changed.has('names') ||
      changed.has('textOf') ||
      changed.has('shown') ||
      zoomed
    ) {
      this.named = this.placeNames();
      this.labels = this.shown.has('lengths') ? this.place() : [];
    }
  }

  override render() {
    const visible = this.marks.filter((mark) => this.shown.has(mark.layer) && mark.layer !== 'profile');
    const tinted = visible.filter((mark) => mark.tint !== undefined);
    const drawn = visible.filter((mark) => mark.tint === undefined);
    const ordered = [...drawn.filter((m) => m.thing !== this.chosen), ...drawn.filter((m) => m.thing === this.chosen)];
    const { left, top } = this.view;
    return html`<svg role="presentation">
      <g transform=${svgTransform(this.view)}>
        ${tinted.length > 0 ? tintPatterns(1 / this.view.scale) : nothing}
        ${tinted.map((mark) => svg`<path class="tint tint-${mark.tint}" fill=${tintFill(mark.tint ?? 0)} d=${this.paths.get(mark) ?? ''} />`)}
        ${ordered.map((mark) => svg`<path class="halo" d=${this.paths.get(mark) ?? ''} />`)}
        ${ordered.map((mark) => this.drawMark(mark))}
      </g>
      <g transform="translate(${left} ${top})">${this.labels.map(leader)}</g>
      <g transform="translate(${left} ${top})">${this.named.map((name) => this.drawName(name))}</g>
      <g transform="translate(${left} ${top})">${this.labels.map((label) => this.drawLabel(label))}</g>
      ${this.handles.map((handle) => this.drawHandle(handle))}
    </svg>`;
  }

  /** The thing whose label or name lies under a point of the view, CSS pixels. */
  labelAt(p: Point): string | null {
    const x = p.x - this.view.left;
    const y = p.y - this.view.top;
    const hit = this.labels.find(({ box }) => x >= box.left && x <= box.right && y >= box.top && y <= box.bottom);
    const name = this.named.find((n) => Math.hypot(x - n.at.x, y - n.at.y) <= nameRadiusPx);
    return hit?.id ?? name?.wish.thing ?? null;
  }

  private drawMark(mark: Mark) {
    const chosen = mark.thing !== null && mark.thing === this.chosen;
    return svg`<path class="${mark.layer} ${chosen ? 'chosen' : ''} ${mark.unseen ? 'unseen' : ''} ${mark.area ? 'area' : ''}" data-thing=${mark.thing ?? nothing} d=${this.paths.get(mark) ?? ''} />`;
  }

  private drawHandle(handle: Handle) {
    const { x, y } = screenFromPicture(this.view, handle.at);
    return svg`<g class="handle" transform="translate(${x} ${y})" data-handle=${handle.id}>
      <circle r="13" /><path d=${handleDrawings[handle.id.split(':')[0]] ?? 'M-7 0H7M0-7V7'} />
    </g>`;
  }

  private drawName({ wish, at }: PlacedName) {
    const chosen = wish.thing !== null && wish.thing === this.chosen;
    return svg`<g class="name ${chosen ? 'chosen' : ''} ${wish.thing === null ? 'run' : ''}" role="img" aria-label=${wish.spoken} data-thing=${wish.thing ?? nothing}>
      <circle cx=${at.x} cy=${at.y} r=${nameRadiusPx} />
      <text x=${at.x} y=${at.y + 5} text-anchor="middle" aria-hidden="true">${wish.text}</text>
    </g>`;
  }

  private drawLabel(label: PlacedLabel) {
    const { text, spoken } = this.textOf(label.id);
    const { box } = label;
    return svg`<g class="label ${label.id === this.chosen ? 'chosen' : ''}" role="img" aria-label=${spoken} data-thing=${label.id}>
      <rect x=${box.left} y=${box.top} width=${box.right - box.left} height=${box.bottom - box.top} rx="2" />
      <text x=${(box.left + box.right) / 2} y=${box.top + 16} text-anchor="middle" aria-hidden="true">${text}</text>
    </g>`;
  }

  /** The chosen thing is brought to the middle of the view: its label has to be in sight from there. */
  private sightAround(anchor: Point): Rect {
    const [x, y] = [this.clientWidth / 2 - 4, this.clientHeight / 2 - 4];
    return { left: anchor.x - x, right: anchor.x + x, top: anchor.y - y, bottom: anchor.y + y };
  }

  /** Labels are placed on the picture as scaled now, so that panning moves them along without any jump. */
  private place(): PlacedLabel[] {
    const at = this.onPicture;
    const visible = new Set(this.drawn.map((mark) => mark.thing));
    const boxes = this.wishes
      .filter((wish) => visible.has(wish.thing))
      .map((wish) => ({ wish, width: textWidth(this.textOf(wish.thing).text) + 14 }))
      .filter(({ wish, width }) => wish.rank < pieceRank || wish.spanPx * this.view.scale > width * roomyShare)
      .map(({ wish, width }) => ({
        id: wish.thing,
        anchor: at(wish.anchor),
        width,
        height: labelHeightPx,
        within: wish.thing === this.chosen ? this.sightAround(at(wish.anchor)) : undefined,
      }));
    const keepFree = [...this.keptFree(), ...this.named.map((name) => discBox(name.at))];
    return placeLabels(boxes, keepFree, this.railsDrawn(), this.bounds(2));
  }

  private placeNames(): PlacedName[] {
    const names = this.shown.has('edge') ? this.names : [];
    return placeNames(names, this.onPicture, this.keptFree(), this.railsDrawn(), this.bounds(1));
  }

  /** From picture pixels to pixels of the picture as scaled now. */
  private readonly onPicture = (p: Point): Point => screenFromPicture({ scale: this.view.scale, left: 0, top: 0 }, p);

  private get drawn(): readonly Mark[] {
    return this.marks.filter((mark) => this.shown.has(mark.layer));
  }

  /** What nothing may cover: gaps, and handles to drag. */
  private keptFree(): Rect[] {
    const at = this.onPicture;
    return [
      ...this.wishes.filter((wish) => wish.keepFree.length > 0).map((wish) => boxAround(wish.keepFree.map(at))),
      ...this.handles.map((handle) => squareAround(at(handle.at), handleReachPx)),
    ];
  }

  private railsDrawn(): Segment[] {
    return this.drawn
      .filter((mark) => mark.layer === 'rails')
      .flatMap((mark) => mark.lines.flatMap((line) => segments(line.map(this.onPicture))));
  }

  private bounds(room: number): Rect {
    const { width, height } = this.size;
    const { scale } = this.view;
    return { left: room, top: room, right: width * scale - room, bottom: height * scale - room };
  }
}

const ruler = document.createElement('canvas').getContext('2d');

function textWidth(text: string): number {
  if (!ruler) return text.length * 8;
  ruler.font = labelFont;
  return Math.ceil(ruler.measureText(text).width);
}

/** From a label to what it names; all leaders lie below all labels. */
function leader(label: PlacedLabel) {
  const { anchor } = label;
  const end = leaderEnd(label);
  const line = `M${anchor.x} ${anchor.y}L${end.x} ${end.y}`;
  return svg`<path class="leader-halo" d=${line} /><path class="leader" d=${line} />`;
}

function squareAround(p: Point, reach: number): Rect {
  return { left: p.x - reach, right: p.x + reach, top: p.y - reach, bottom: p.y + reach };
}

function segments(points: readonly Point[]): Segment[] {
  return points.slice(1).map((p, i) => [points[i], p] as const);
}

function pathOf(mark: Mark): string {
  return mark.lines
    .map((line) => line.map((p, i) => `${i === 0 ? 'M' : 'L'}${p.x.toFixed(2)} ${p.y.toFixed(2)}`).join(''))
    .join('');
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-picture-overlay': PictureOverlay;
  }
}
