import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { addressOf } from '../state/place.js';
import { type StepId, stepAfter, stepTexts } from '../text/steps.js';
import { sharedStyle } from './shared-style.js';

/** What comes next on the path, at the foot of a screen. */
@customElement('gw-next-step')
export class NextStep extends LitElement {
  @property() table = '';
  @property() step: StepId = 'sheet';
  /** False draws it quiet: something on this screen is still to be done first. */
  @property({ type: Boolean }) ready = true;

  static override styles = [
    sharedStyle,
    css`
      div {
        align-items: center;
        border-top: 2px solid var(--ink);
        display: flex;
        flex-wrap: wrap;
        gap: 0.75rem 1rem;
        margin-top: 2rem;
        padding-top: 1rem;
      }
    `,
  ];

  override render() {
    const next = stepAfter(this.step);
    if (!next) return nothing;
    return html`<div>
      <a class="button ${this.ready ? 'main' : ''}" href=${addressOf({ table: this.table, step: next })}>Next: ${stepTexts[next].name}</a>
      <span class="quiet">${stepTexts[next].what}.</span>
    </div>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-next-step': NextStep;
  }
}
