import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Plan, PlanWithoutAlternatives } from '../../server/contract/plan.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { exactLength, formatEstimate } from '../text/lengths.js';
import { cutsOf, lengthChanges, planName, uncutText } from '../text/plan-names.js';
import { wishesToTake } from '../text/preferences.js';
import { sharedStyle } from './shared-style.js';

/**
 * The plan and its alternatives side by side. Fires `look` with the index looked at (0 the plan itself, 1… the
 * alternatives) and `take` with the index of the alternative that is to become the plan.
 */
@customElement('gw-plan-choice')
export class PlanChoice extends LitElement {
  @property({ attribute: false }) plan: Plan | null = null;
  @property({ type: Number }) looked = 0;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  static override styles = [
    sharedStyle,
    css`
      ul {
        display: grid;
        gap: 1rem;
        grid-template-columns: repeat(auto-fit, minmax(min(100%, 15rem), 1fr));
      }
      li {
        background: var(--sheet);
        border: 2px solid var(--line);
        padding: 0.75rem;
      }
      li.looked {
        border-color: var(--accent);
        border-width: 4px;
        padding: calc(0.75rem - 2px);
      }
      h3 {
        margin: 0;
      }
      dl {
        display: grid;
        gap: 0 0.75rem;
        grid-template-columns: auto 1fr;
        margin: 0.4rem 0;
      }
      dt {
        color: var(--pencil);
      }
      dd {
        font-variant-numeric: tabular-nums;
        margin: 0;
      }
    `,
  ];

  override render() {
    const { plan } = this;
    if (!plan || plan.alternatives.length === 0) return nothing;
    return html`<h2>Other ways</h2>
      <p class="quiet">They differ in kind. Looking at one draws it on the picture; only taking it changes the plan.</p>
      <ul class="plain">
        ${[plan, ...plan.alternatives].map((one, i) => this.card(one, i))}
      </ul>`;
  }

  private card(one: PlanWithoutAlternatives, i: number) {
    const style = this.lengthStyle;
    const name = planName(one, this.plan ? [this.plan, ...this.plan.alternatives] : [one]);
    const unsafe = one.trainRoom?.places.some((p) => p.roomMm < 0) ?? false;
    const lengths = one.fillers.map((f) => exactLength(f.lengthMm, style, one.stepMm)).join(', ') || 'none';
    const cuts = cutsOf(one);
    const canTake = i > 0 && wishesToTake(one) !== null;
    return html`<li class=${i === this.looked ? 'looked' : ''}>
      <h3>${i === 0 ? 'This plan: ' : ''}${name}</h3>
      <dl>
        <dt>Cuts</dt>
        <dd>${cuts}</dd>
        <dt>Fillers</dt>
        <dd>${lengths}</dd>
        ${one.changedSections === undefined ? nothing : html`<dt>Sections changed</dt><dd>${one.changedSections}</dd>`}
        ${lengthChanges(one, style).map(({ run, text }) => html`<dt>Run ${run}</dt><dd>${text}</dd>`)}
        ${one.predicted.clearances.map((c) => html`<dt>Edge ${c.side}</dt><dd>${formatEstimate(c.distance, style)}</dd>`)}
        <dt>Wishes unmet</dt>
        <dd>${one.unmet.length === 0 ? 'none' : one.unmet.length}</dd>
      </dl>
      <div class="row">
        <button class="small" aria-label="Look at it: ${name}" aria-pressed=${i === this.looked ? 'true' : 'false'} @click=${() => this.tell('look', i)}>Look at it</button>
        ${canTake ? html`<button class="small" aria-label="Take this one: ${name}" @click=${() => this.tell('take', i)}>Take this one</button>` : nothing}
      </div>
      ${i > 0 && cuts === 0 ? html`<p class="quiet">${uncutText(one)}</p>` : nothing}
      ${one.search?.proved === false ? html`<p class="quiet">The best one found in the time allowed.</p>` : nothing}
      ${unsafe ? html`<p><b>Not safe to run:</b> the longest car hits something.</p>` : nothing}
    </li>`;
  }

  private tell(what: 'look' | 'take', i: number): void {
    this.dispatchEvent(new CustomEvent<number>(what, { detail: i }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-plan-choice': PlanChoice;
  }
}
