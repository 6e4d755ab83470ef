import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { marksOf } from '../text/donor-words.js';
import { bothUnitsInLine } from '../text/lengths.js';
import { sharedStyle } from './shared-style.js';

type Donor = PlanWithoutAlternatives['donors'][number];

const width = 640;
const height = 64;

/** Each donor as a strip with its cuts, from its pinned end, true to scale among each other. */
@customElement('gw-donor-strips')
export class DonorStrips extends LitElement {
  @property({ attribute: false }) plan: PlanWithoutAlternatives | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  static override styles = [
    sharedStyle,
    css`
      svg {
        display: block;
        height: auto;
        max-width: 44rem;
        width: 100%;
      }
      .strip {
        fill: var(--sheet);
        stroke: var(--ink);
        stroke-width: 2;
      }
      .offcut {
        fill: var(--shade);
      }
      .cut {
        stroke: var(--accent);
        stroke-width: 2.5;
      }
      text {
        fill: var(--ink);
        font: 600 15px var(--text);
      }
      figure {
        margin: 0 0 1rem;
      }
    `,
  ];

  override render() {
    const donors = this.plan?.donors ?? [];
    if (donors.length === 0) return nothing;
    const longest = Math.max(...donors.map((d) => d.lengthMm));
    return donors.map((donor) => this.strip(donor, longest));
  }

  private marks(donor: Donor) {
    return marksOf(donor, this.lengthStyle).map(
      (mark, i) => html`${i === 0 ? 'marks at ' : ', '}<span class="number">${mark}</span>`,
    );
  }

  private strip(donor: Donor, longest: number) {
    const x = (mm: number): number => 2 + (mm / longest) * (width - 4);
    const { lengthStyle } = this;
    const kerfMm = this.plan?.kerfMm ?? 0;
    const starts = donor.marksMm.map((_, i) => (i === 0 ? 0 : donor.marksMm[i - 1] + kerfMm));
    const name = `${donor.donor}${donor.freed ? ' (spare from the layout)' : ''}`;
    return html`<figure>
      <figcaption>
        <b>${name}</b>, <span class="number">${bothUnitsInLine(donor.lengthMm, lengthStyle)}</span>, from its pinned end: ${this.marks(donor)}; offcut
        <span class="number">${bothUnitsInLine(donor.offcutMm, lengthStyle)}</span>
      </figcaption>
      <svg viewBox="0 0 ${width} ${height}" aria-hidden="true">
        <rect class="strip offcut" x="2" y="14" width=${x(donor.lengthMm) - 2} height="34" />
        ${donor.pieces.map(
          (
            piece,
            i,
          ) => svg`<rect class="strip" x=${x(starts[i])} y="14" width=${x(donor.marksMm[i]) - x(starts[i])} height="34" />
            <text x=${(x(starts[i]) + x(donor.marksMm[i])) / 2} y="37" text-anchor="middle">${piece}</text>
            ${donor.marksMm[i] < donor.lengthMm - 0.01 ? svg`<path class="cut" d="M${x(donor.marksMm[i])} 6V58" />` : nothing}`,
        )}
      </svg>
    </figure>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-donor-strips': DonorStrips;
  }
}
