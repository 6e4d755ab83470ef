import { html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import { contradictionWords, reasonsNotToCut, slideWords, unsafeWords } from '../../server/contract/plan-notices.js';
import type { Report } from '../../server/contract/report.js';
import { lengthsIn } from '../../server/units/both-units.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { unbroken } from '../../server/units/unbroken.js';
import { sharedStyle } from './shared-style.js';

/**
 * What has to be read before the fillers: where the longest car would hit something, what is not known well enough to be
 * cut, where rule and photo contradict each other, and which runs have to be slid.
 */
@customElement('gw-plan-notices')
export class PlanNotices extends LitElement {
  @property({ attribute: false }) plan: PlanWithoutAlternatives | null = null;
  @property({ attribute: false }) report: Report | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  static override styles = [sharedStyle];

  override render() {
    const { plan } = this;
    if (!plan) return nothing;
    const unsafe = unsafeWords(plan, this.lengthStyle);
    const unsure = reasonsNotToCut(plan);
    const contradicted = contradictionWords(plan, this.lengthStyle);
    const slides = slideWords(plan, this.report, this.lengthStyle);
    return html`
      ${unsafe.length === 0 ? nothing : html`<div class="aside" role="note">${unsafe.map((line) => html`<p><b>${line}</b></p>`)}</div>`}
      ${
        unsure.length === 0
          ? nothing
          : html`<div class="aside" role="note" data-code="too-uncertain-to-cut">
              <p><b>Do not cut yet</b></p>
              ${unsure.map((line) => html`<p>${unbroken(lengthsIn(line, this.lengthStyle))}</p>`)}
            </div>`
      }
      ${
        contradicted.length === 0
          ? nothing
          : html`<div class="aside" role="note" data-code="rule-against-photo">
              <p><b>Rule and photo differ</b></p>
              ${contradicted.map((line) => html`<p>${unbroken(line)}</p>`)}
            </div>`
      }
      ${slides.map((line) => html`<p><b>${line}</b></p>`)}
    `;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-plan-notices': PlanNotices;
  }
}
