import { css, html, LitElement, nothing, type PropertyValues } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { RuledGap, ToldBy } from '../../server/contract/gap-readings.js';
import { styleToldBy, toldWords } from '../../server/contract/gap-words.js';
import type { PlanView } from '../../server/contract/plan-view.js';
import type { Report } from '../../server/contract/report.js';
import type { StoredPhoto } from '../../server/contract/tables.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { photoViewUrl, planPictureUrl } from '../api/tables-api.js';
import { coverageMarks, helpMarks } from '../canvas/coverage-marks.js';
import { type Layer, labelWishes, type Mark, marksOf, profileMark } from '../canvas/marks.js';
import {
  type MeasuredThing,
  measuredThings,
  photoInReport,
  profileThing,
  thingsByRule,
} from '../canvas/measured-things.js';
import { type PictureFrame, photoFrame, planFrame, sheetFrame } from '../canvas/picture-frame.js';
import type { PictureSource } from '../canvas/picture-loader.js';
import { runNames } from '../canvas/run-names.js';
import { type NameWish, sideNames } from '../canvas/side-names.js';
import type { Pair } from '../canvas/track-lines.js';
import type { Point } from '../canvas/view.js';
import type { Handle } from '../canvas/wish-marks.js';
import { formatEstimate } from '../text/lengths.js';
import { spokenEstimate } from '../text/spoken-length.js';
import './layer-choice.js';
import type { PictureDrag } from './picture-view.js';
import './picture-view.js';
import { sharedStyle } from './shared-style.js';

/** Widths in which the server makes a photo. */
const photoWidthsPx = [800, 1600, 2400, 4096];
/** One list for all, so that nothing seems to have changed. */
export const noRuled: readonly RuledGap[] = [];
/** Shorter than elsewhere: a label wider than the picture is left out, and on a phone that is soon so. */
const toldOnPicture: Readonly<Record<ToldBy, string>> = {
  photo: '',
  rule: ' by the rule',
  'photo and rule': ', checked',
};
const firstLayers: readonly Layer[] = [
  'lengths',
  'gaps',
  'clearances',
  'rails',
  'joints',
  'edge',
  'hidden',
  'profile',
  'wishes',
  'planned',
  'corrections',
];

/** While a place is pointed at, no name may lie on it. */
const noNames: readonly NameWish[] = [];

/**
 * The measured table on a picture of one's choice: plan view, drawing alone, or a photo.
 * Fires `choose` with a thing's id, `handle-drag` with a TableDrag, `handle-drop`, while it aims `pick` with a PickedPlace,
 * and `picture` with 'plan', 'drawing' or a photo's id.
 */
@customElement('gw-table-picture')
export class TablePicture extends LitElement {
  @property() table = '';
  @property({ attribute: false }) report: Report | null = null;
  @property({ attribute: false }) planView: PlanView | null = null;
  @property({ attribute: false }) photos: readonly StoredPhoto[] = [];
  @property() picture = 'plan';
  @property() stamp = '';
  @property() chosen: string | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;
  /** More to draw, made for the frame at hand: wishes, or where the track will lie. */
  @property({ attribute: false }) extra: (frame: PictureFrame) => readonly Mark[] = () => [];
  @property({ attribute: false }) handles: (frame: PictureFrame) => readonly Handle[] = () => [];
  /** What a tap is to point at; empty: a tap chooses what lies there. */
  @property() aim = '';
  /** Offers photos alone: positions on them are wanted. */
  @property({ type: Boolean }) onlyPhotos = false;
  /** Tints the table by how sure a clearance is. */
  @property({ type: Boolean }) covered = false;
  /** Gaps in which a rule was laid: the picture says what counts there. */
  @property({ attribute: false }) byRule: readonly RuledGap[] = noRuled;
  @state() private layers: ReadonlySet<Layer> = new Set(firstLayers);
  private frame: PictureFrame | null = null;
  private marks: readonly Mark[] = [];
  private names: readonly NameWish[] = [];
  private things: readonly MeasuredThing[] = [];
  private source: PictureSource | null = null;

  static override styles = [
    sharedStyle,
    css`
      .which select {
        min-height: 2.75rem;
        width: 100%;
      }
      p {
        margin: 0.3rem 0 0;
      }
    `,
  ];

  protected override willUpdate(changed: PropertyValues<this>): void {
    const { report } = this;
    if (!report) return;
    if (changed.has('report') || changed.has('byRule')) this.things = thingsByRule(measuredThings(report), this.byRule);
    if (
      ['report', 'planView', 'photos', 'picture', 'stamp'].some((key) =>
        (changed as Map<PropertyKey, unknown>).has(key),
      )
    )
      this.takePicture(report);
    if (!this.frame) return;
    this.names = [...sideNames(report, this.frame), ...runNames(report, this.frame)];
    const tints =
      report.coverage && this.covered
        ? [...coverageMarks(report.coverage, this.frame, this.lengthStyle), ...helpMarks(report.coverage, this.frame)]
        : [];
    const base = [...tints, ...marksOf(report, this.frame), ...this.extra(this.frame)];
    const profile = this.chosen?.startsWith('profile:')
      ? profileMark(report, this.frame, Number(this.chosen.slice(8)))
      : null;
    this.marks = profile ? [profile, ...base.filter((m) => m.thing !== this.chosen)] : base;
  }

  override render() {
    const { report, frame } = this;
    if (!report || !frame) return nothing;
    const here = profileThing(report, this.chosen ?? '');
    const things = here ? [here, ...this.things] : this.things;
    return html`
      <gw-picture-view
        label=${`${this.choices().find(([id]) => id === this.picture)?.[1] ?? 'Picture'} with what was measured drawn on it`}
        .picture=${this.picture}
        .size=${frame}
        .source=${this.source}
        .marks=${this.marks}
        .wishes=${labelWishes(this.marks, things, this.chosen)}
        .names=${this.aim ? noNames : this.names}
        .textOf=${(id: string) => this.textOf(things, id)}
        .shown=${this.aim ? withoutLengths(this.shown) : this.shown}
        .chosen=${this.chosen}
        .handles=${this.handles(frame)}
        .aim=${this.aim}
        @pick=${(e: CustomEvent<Point>) => this.pick(frame, report, e.detail)}
        @handle-drop=${(e: CustomEvent<string>) => this.dispatchEvent(new CustomEvent('handle-drop', { detail: e.detail }))}
        @choose=${(e: CustomEvent<string | null>) => this.dispatchEvent(new CustomEvent('choose', { detail: e.detail }))}
        @handle-drag=${(e: CustomEvent<PictureDrag>) => this.drag(frame, e.detail)}
        ><label class="which"
          ><span class="only-read">Which picture</span>
          <select @change=${(e: Event) => this.dispatchEvent(new CustomEvent<string>('picture', { detail: (e.target as HTMLSelectElement).value }))}>
            ${this.choices().map(([id, name]) => html`<option value=${id} ?selected=${id === this.picture}>${name}</option>`)}
          </select></label
        ></gw-picture-view
      >
      <gw-layer-choice .shown=${this.layers} @layers=${(e: CustomEvent<ReadonlySet<Layer>>) => (this.layers = e.detail)}></gw-layer-choice>
    `;
  }

  private get shown(): ReadonlySet<Layer> {
    return this.covered ? new Set([...this.layers, 'coverage']) : this.layers;
  }

  private drag(frame: PictureFrame, { id, gesture, at }: PictureDrag): void {
    const detail: TableDrag = { handle: id, gesture, to: frame.tableFromPicture(at, 0), at };
    this.dispatchEvent(new CustomEvent<TableDrag>('handle-drag', { detail }));
  }

  private pick(frame: PictureFrame, report: Report, at: Point): void {
    const detail: PickedPlace = {
      at,
      frame,
      onTable: frame.tableFromPicture(at, 0),
      atRails: frame.tableFromPicture(at, report.track.railTopMm),
    };
    this.dispatchEvent(new CustomEvent<PickedPlace>('pick', { detail }));
  }

  private choices(): [string, string][] {
    const seen = this.photos.filter((photo) => photoInReport(this.report, photo));
    const own = seen.map((p): [string, string] => [p.id, p.name]);
    return this.onlyPhotos ? own : [['plan', 'Plan view'], ['drawing', 'Drawing only'], ...own];
  }

  private takePicture(report: Report): void {
    const photo = this.photos.find((p) => p.id === this.picture);
    const measured = photo && photoInReport(report, photo);
    if (photo && measured) {
      this.frame = photoFrame(measured);
      const url = (widthPx: number): string => photoViewUrl(this.table, photo.id, widthPx);
      this.source = { key: photo.id, width: measured.widthPx, height: measured.heightPx, widthsPx: photoWidthsPx, url };
    } else if (this.picture !== 'drawing' && this.planView) {
      this.frame = planFrame(this.planView, report.photos);
      const { widthPx: width, heightPx: height } = this.planView;
      const url = (): string => planPictureUrl(this.table, this.stamp);
      this.source = { key: `plan ${this.stamp}`, width, height, widthsPx: [width], url };
    } else {
      this.frame = sheetFrame(report.table.outline);
      this.source = null;
    }
  }

  private textOf(things: readonly MeasuredThing[], id: string): { text: string; spoken: string } {
    const thing = things.find((t) => t.id === id);
    if (!thing) return { text: id, spoken: id };
    const toldBy = thing.toldBy ?? 'photo';
    const style = styleToldBy(toldBy, thing.length.value, this.lengthStyle);
    const length = `${formatEstimate(thing.length, style)}${toldOnPicture[toldBy]}`;
    const spoken = `${thing.name}: ${spokenEstimate(thing.length, style)} ${toldWords[toldBy]}`.trimEnd();
    return { text: id === this.chosen ? `${thing.name}: ${length}` : length, spoken };
  }
}

/** While a place is pointed at, no label may lie on it. */
function withoutLengths(shown: ReadonlySet<Layer>): ReadonlySet<Layer> {
  return new Set([...shown].filter((layer) => layer !== 'lengths'));
}

/** A handle dragged to a place on the table, millimetres. */
export interface TableDrag {
  readonly handle: string;
  readonly gesture: string;
  readonly to: Pair;
  /** The same place in picture pixels. */
  readonly at: Point;
}

/** A place pointed at: in picture pixels, and where it lies if it is on the table top or on the rails, millimetres. */
export interface PickedPlace {
  readonly at: Point;
  readonly frame: PictureFrame;
  readonly onTable: Pair;
  readonly atRails: Pair;
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-table-picture': TablePicture;
  }
}
