import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { type FillerSum, fillerSum, sumInWords } from '../../server/contract/filler-sum.js';
import { toldWords } from '../../server/contract/gap-words.js';
import { takenOutBy } from '../../server/contract/laid-anew.js';
import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import type { Report } from '../../server/contract/report.js';
import { defaultLengthStyle, formatFinely, type LengthStyle } from '../../server/units/format-length.js';
import { unbroken } from '../../server/units/unbroken.js';
import { takenOutNames } from '../text/laid-anew-words.js';
import { exactLength } from '../text/lengths.js';
import { fitsWithoutFillers } from '../text/plan-names.js';
import { sharedStyle } from './shared-style.js';

type Filler = PlanWithoutAlternatives['fillers'][number];

function withoutFillers(plan: PlanWithoutAlternatives): string {
  if (plan.unmet.length > 0) return 'No filler is planned: below is what cannot be had, and what would help.';
  return `No filler is needed. ${fitsWithoutFillers(plan)}`.trimEnd();
}

/** A smaller change of a clearance is not told: 0.005 in. */
const leastToldMm = 0.127;

/** The fillers of a plan: how long, which gap, from which donor, how exact it has to be. Fires `choose` with the gap. */
@customElement('gw-filler-list')
export class FillerList extends LitElement {
  @property({ attribute: false }) plan: PlanWithoutAlternatives | null = null;
  @property({ attribute: false }) report: Report | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  static override styles = [
    sharedStyle,
    css`
      li {
        border-top: 1px solid var(--line);
        display: grid;
        gap: 0.1rem 1rem;
        grid-template-columns: 7.5rem minmax(0, 1fr);
        padding: 0.6rem 0;
      }
      .length {
        font-family: var(--hand);
        font-size: 1.4rem;
        line-height: 1.2;
      }
      p {
        margin: 0;
      }
      .inline {
        min-height: 2.25rem;
        padding: 0 0.6rem;
      }
    `,
  ];

  override render() {
    const { plan } = this;
    if (!plan) return nothing;
    if (plan.fillers.length === 0) return html`<p>${withoutFillers(plan)}</p>`;
    return html`<ul class="plain">
      ${plan.fillers.map((filler) => this.row(plan, filler))}
    </ul>`;
  }

  private row(plan: PlanWithoutAlternatives, filler: Filler) {
    const donor = plan.donors.find((d) => d.pieces.includes(filler.id));
    const sum = this.report ? fillerSum(plan, filler, this.report) : null;
    const out = takenOutNames(takenOutBy(plan, filler.id, this.report), this.lengthStyle);
    const step = filler.oneStepLonger;
    return html`<li data-filler=${filler.id}>
      <div><span class="quiet">${filler.id}</span><br /><b class="length number">${exactLength(filler.lengthMm, this.lengthStyle, plan.stepMm)}</b></div>
      <div>
        ${sum && sum.parts.length > 0 ? this.place(sum) : html`<p>for run ${filler.run}</p>`}
        ${out.length > 0 ? html`<p>take out ${out.join(', ')}</p>` : nothing}
        <p>${this.origin(filler, donor)}</p>
        ${step ? html`<p class="quiet">${this.tolerance(plan, step)}</p>` : nothing}
      </div>
    </li>`;
  }

  /** `closes Gap 2 + Gap 3: 55.5 mm + 23.8 mm by the rule = 79.3 ± 0.7 mm`; each gap is a button. */
  private place(sum: FillerSum) {
    const [first] = sum.parts;
    const names = sum.parts.map(({ name, joint }) =>
      joint === null
        ? name
        : html`<button class="inline" aria-label="Show ${name} on the picture" @click=${() => this.show(`joint:${joint}`)}>${name}</button>`,
    );
    const one =
      sum.parts.length > 1 ? ': ' : first.toldBy === 'photo' ? ', measured ' : `, ${toldWords[first.toldBy]}: `;
    return html`<p>
      ${first.joint === null ? 'takes the place of' : 'closes'}
      ${names.map((name, i) => html`${i === 0 ? '' : ' + '}${name}`)}${one}${this.length(sum)}
    </p>`;
  }

  /** A single length stays on one line; a sum is too long for that. */
  private length(sum: FillerSum) {
    const words = sumInWords(sum, this.lengthStyle);
    return sum.parts.length > 1 ? unbroken(words) : html`<span class="number">${words}</span>`;
  }

  private origin(filler: Filler, donor: PlanWithoutAlternatives['donors'][number] | undefined): string {
    if (!donor) return 'No donor at hand is long enough: add one under “What is at hand”.';
    const name = `${donor.donor} (${exactLength(donor.lengthMm, this.lengthStyle)})`;
    return filler.cut === false ? `${name}, used whole` : `cut from ${name}`;
  }

  private tolerance(plan: PlanWithoutAlternatives, step: NonNullable<Filler['oneStepLonger']>): string {
    const by = exactLength(plan.stepMm ?? 1.5875, this.lengthStyle, plan.stepMm);
    const changes = step.clearances
      .filter((c) => Math.abs(c.changeMm) >= leastToldMm)
      .map((c) => `side ${c.side} ${c.changeMm < 0 ? 'loses' : 'gains'} ${this.small(c.changeMm)}`);
    if (step.closingMm !== null) changes.unshift(`the loop misses closing by ${this.small(step.closingMm)}`);
    return `If it comes out ${by} longer: ${changes.length > 0 ? changes.join(', ') : 'nothing else changes'}.`;
  }

  private small(lengthMm: number): string {
    return formatFinely(Math.abs(lengthMm), this.lengthStyle);
  }

  private show(id: string): void {
    this.dispatchEvent(new CustomEvent<string>('choose', { detail: id }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-filler-list': FillerList;
  }
}
