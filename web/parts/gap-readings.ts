import { css, html, nothing } from 'lit';
import { customElement } from 'lit/decorators.js';
import {
  contradictsPhoto,
  findReadings,
  gapByPhoto,
  openGaps,
  type ReadGap,
} from '../../server/contract/gap-readings.js';
import type { NamedJoint } from '../../server/contract/joint-names.js';
import { type GapReading, longestReadingMm } from '../../server/contract/wishes.js';
import type { Estimate } from '../../server/units/estimate.js';
import { styleToTell } from '../../server/units/exact-length.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import { formatEstimate, formatLength } from '../text/lengths.js';
import './length-field.js';
import { sharedStyle, wrongEntryStyle } from './shared-style.js';
import { WishPart } from './wish-part.js';

/** No gap that is open is shorter, millimetres. */
const shortestReadingMm = 1;

/**
 * What a steel rule says of each open gap, beside what the photo says, and what of them counts. Fires `wishes` with a
 * partial Wishes, and `choose` with a gap.
 */
@customElement('gw-gap-readings')
export class GapReadings extends WishPart {
  static override styles = [
    sharedStyle,
    wrongEntryStyle,
    css`
      li {
        border-top: 1px solid var(--line);
        display: grid;
        gap: 0.25rem 1rem;
        grid-template-columns: 9.5rem minmax(0, 1fr);
        padding: 0.6rem 0;
      }
      li.lost {
        align-items: center;
        grid-template-columns: minmax(0, 1fr) auto;
      }
      p {
        margin: 0;
      }
      .intro {
        margin-bottom: 0.75rem;
      }
      .both,
      .wrong {
        grid-column: 1 / -1;
      }
      @media (max-width: 22rem) {
        li,
        li.lost {
          grid-template-columns: minmax(0, 1fr);
        }
      }
    `,
  ];

  override render() {
    const { report, wishes, lengthStyle } = this;
    if (!report || !wishes) return nothing;
    const gaps = openGaps(report);
    const { ruled, lost } = findReadings(report, wishes.gapReadings ?? []);
    if (gaps.length === 0 && lost.length === 0) return nothing;
    const fine = lengthStyle.unit === 'in' ? '1/32 in' : 'half a millimetre';
    return html`<h2>Gaps by the rule</h2>
      <p class="quiet intro">Lay a steel rule in each gap along the centre rail and type what it says, to ${fine}. Where it agrees with the photo, both count together; where not, the rule counts. Left empty, the photo counts.</p>
      <ul class="plain">
        ${gaps.map((gap) => this.row(gap, ruled.find(({ joint }) => joint === gap.joint.id) ?? null))}
        ${lost.map((reading) => this.lostRow(reading))}
      </ul>`;
  }

  private row({ joint, name }: NamedJoint, read: ReadGap | null) {
    const style = this.lengthStyle;
    return html`<li data-gap=${joint.id}>
      <gw-length-field
        label=${`${name} by the rule`}
        optional
        .lengthMm=${read?.rule.value ?? null}
        .lengthStyle=${read ? styleToTell(read.rule.value, style) : style}
        .leastMm=${shortestReadingMm}
        .mostMm=${longestReadingMm}
        @length=${(e: CustomEvent<number | null>) => this.type(joint, read, e.detail)}
      ></gw-length-field>
      <div>
        <p><button class="small" aria-label="Show ${name} on the picture" @click=${() => this.show(joint.id)}>${name}</button></p>
        ${read ? this.counts(read) : html`<p>The photo counts: ${inNumbers(gapByPhoto(joint), style)}</p>`}
      </div>
      ${read ? this.said(read) : nothing}
    </li>`;
  }

  private counts({ length, rule, photo }: ReadGap) {
    return contradictsPhoto({ rule, photo })
      ? html`<p><b>The rule counts: ${this.finely(rule)}</b></p>
          <p class="quiet">The photo says ${this.finely(photo)}</p>`
      : html`<p><b>Rule and photo together: ${this.finely(length)}</b></p>`;
  }

  private said({ rule, photo }: ReadGap) {
    return contradictsPhoto({ rule, photo })
      ? html`<p class="wrong">They differ by more than both ± allow: lay the rule there again before you cut.</p>`
      : html`<p class="quiet both">The rule says ${this.finely(rule)}, the photo ${this.finely(photo)}</p>`;
  }

  /** Beside what was typed all is written as finely as needed: sixteenths hide what they differ by. */
  private finely(length: Estimate) {
    return inNumbers(length, styleToTell(length.value, this.lengthStyle));
  }

  /** A reading that belongs to no open gap of this measurement: it waits until the person takes it out. */
  private lostRow(reading: GapReading) {
    const length = formatLength(reading.lengthMm, styleToTell(reading.lengthMm, this.lengthStyle));
    return html`<li class="lost">
      <p><span class="number">${length}</span> was read where no open gap is measured any more: it does not count.</p>
      <button class="small" aria-label="Take out the reading of ${length}" @click=${() => this.tell(this.all.filter((r) => r !== reading))}>Take out</button>
    </li>`;
  }

  private get all(): readonly GapReading[] {
    return this.wishes?.gapReadings ?? [];
  }

  /** The reading takes the place of the one before at that gap; an emptied field leaves the photo. */
  private type({ id, at }: NamedJoint['joint'], read: ReadGap | null, lengthMm: number | null): void {
    const others = this.all.filter((reading) => reading !== read?.reading);
    this.tell(lengthMm === null ? others : [...others, { joint: id, at, lengthMm }]);
  }

  private tell(readings: readonly GapReading[]): void {
    // Without any, the wishes are those of before the first: the list is missing.
    this.wish({ gapReadings: readings.length === 0 ? undefined : [...readings] });
  }

  private show(joint: string): void {
    this.dispatchEvent(new CustomEvent<string>('choose', { detail: `joint:${joint}` }));
  }
}

function inNumbers(length: Estimate, style: LengthStyle) {
  return html`<span class="number">${formatEstimate(length, style)}</span>`;
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-gap-readings': GapReadings;
  }
}
