import { css, html, LitElement, nothing, type PropertyValues } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { gapToldBy, type RuledGap } from '../../server/contract/gap-readings.js';
import { styleToldBy } from '../../server/contract/gap-words.js';
import type { Report } from '../../server/contract/report.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import type { MeasuredThing, ThingKind } from '../canvas/measured-things.js';
import { formatEstimate } from '../text/lengths.js';
import { spokenEstimate } from '../text/spoken-length.js';
import { terms } from '../text/terms.js';
import { sharedStyle } from './shared-style.js';
import './thing-details.js';

interface Group {
  readonly title: string;
  readonly meaning: string;
  readonly kinds: readonly ThingKind[];
  readonly folded: boolean;
}

const groups: readonly Group[] = [
  { title: 'Open gaps', meaning: terms['joint gap'], kinds: ['gap'], folded: false },
  {
    title: 'Rail to edge',
    meaning: `clearance: ${terms['rail-to-edge clearance']}`,
    kinds: ['clearance'],
    folded: false,
  },
  { title: 'Spacing', meaning: terms.spacing, kinds: ['spacing'], folded: false },
  { title: 'Table sides', meaning: 'as measured', kinds: ['side'], folded: false },
  { title: 'Closed joints', meaning: `joint: ${terms.joint}`, kinds: ['joint'], folded: true },
  {
    title: 'Straights and curves',
    meaning: 'lengths, and the radius of the centre rail',
    kinds: ['straight', 'curve'],
    folded: true,
  },
];

/** Everything measured, by kind. Choosing one shows it on the picture. Fires `choose` with its id, `show` with a photo. */
@customElement('gw-measured-list')
export class MeasuredList extends LitElement {
  @property({ attribute: false }) things: readonly MeasuredThing[] = [];
  @property({ attribute: false }) report: Report | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;
  /** Gaps in which a rule was laid. */
  @property({ attribute: false }) byRule: readonly RuledGap[] = [];
  @property() chosen: string | null = null;

  static override styles = [
    sharedStyle,
    css`
      h2 {
        margin: 1.25rem 0 0.1rem;
      }
      summary {
        font-family: var(--hand);
        font-size: 1.25rem;
      }
      .meaning {
        font-size: 0.95rem;
        margin: 0 0 0.4rem;
      }
      li {
        border-top: 1px solid var(--line);
        scroll-margin: 1rem;
      }
      li > button {
        background: transparent;
        border: 0;
        border-left: 6px solid transparent;
        border-radius: 0;
        flex-wrap: wrap;
        font-weight: 400;
        justify-content: space-between;
        padding: 0.4rem 0.5rem;
        text-align: left;
        width: 100%;
        scroll-margin-top: var(--covered-top, 1rem);
      }
      .ruled {
        margin: 0 0 0.4rem 0.9rem;
      }
      li > button[aria-pressed='true'] {
        background: var(--wash);
        border-left-color: var(--accent);
        font-weight: 700;
      }
    `,
  ];

  override render() {
    return groups.map((group) => {
      const things = this.things.filter((thing) => group.kinds.includes(thing.kind));
      if (things.length === 0 && group.kinds[0] !== 'gap') return nothing;
      const list =
        things.length === 0
          ? html`<p>No open gap was found.</p>`
          : html`<ul class="plain">${things.map((thing) => this.row(thing))}</ul>`;
      const meaning = html`<p class="meaning">${group.meaning}</p>`;
      const open = things.some((thing) => thing.id === this.chosen);
      return group.folded
        ? html`<details ?open=${open}><summary>${group.title} (${things.length})</summary>${meaning}${list}</details>`
        : html`<h2>${group.title}</h2>${meaning}${list}`;
    });
  }

  private row(thing: MeasuredThing) {
    const chosen = thing.id === this.chosen;
    return html`<li data-thing=${thing.id}>
      <button aria-pressed=${chosen ? 'true' : 'false'} @click=${() => this.tell(chosen ? null : thing.id)}>
        <span>${thing.name}</span>
        <span class="number" aria-hidden="true">${formatEstimate(thing.length, this.lengthStyle)}</span>
        <span class="only-read">: ${spokenEstimate(thing.length, this.lengthStyle)}</span>
      </button>
      ${this.ruled(thing)}
      ${chosen ? html`<gw-thing-details .thing=${thing} .report=${this.report} .lengthStyle=${this.lengthStyle}></gw-thing-details>` : nothing}
    </li>`;
  }

  private ruled({ id }: MeasuredThing) {
    const read = this.byRule.find(({ joint }) => id === `joint:${joint}`);
    if (!read) return nothing;
    const { length } = read;
    const toldBy = gapToldBy(read);
    const told = formatEstimate(length, styleToldBy(toldBy, length.value, this.lengthStyle));
    const counts = html`<span class="number">${told}</span>`;
    return html`<p class="quiet ruled">${
      toldBy === 'rule'
        ? html`The rule says ${counts}: that counts for the fillers.`
        : html`Checked with the rule: ${counts} counts for the fillers.`
    }</p>`;
  }

  /** A thing chosen on the picture comes into sight in the list, without taking the focus. */
  protected override updated(changed: PropertyValues<this>): void {
    if (!changed.has('chosen') || !this.chosen) return;
    const row = this.renderRoot.querySelector(`[data-thing="${CSS.escape(this.chosen)}"]`);
    if (this.renderRoot.contains(this.shadowRoot?.activeElement ?? null)) return;
    row?.scrollIntoView({ block: 'nearest' });
  }

  private tell(id: string | null): void {
    this.dispatchEvent(new CustomEvent<string | null>('choose', { detail: id }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-measured-list': MeasuredList;
  }
}
