import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { lengthsIn } from '../../server/units/both-units.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import type { Trouble } from '../api/trouble.js';
import { sharedStyle } from './shared-style.js';

/** A problem as a person reads it: what is wrong, and what to do. The default slot takes buttons. */
@customElement('gw-trouble-note')
export class TroubleNote extends LitElement {
  @property({ attribute: false }) trouble: Trouble | null = null;
  /** The unit of its lengths; without it they stand in both. */
  @property({ attribute: false }) lengthStyle: LengthStyle | null = null;

  static override styles = [
    sharedStyle,
    css`
      div {
        background: var(--wash);
        border: 2px solid var(--accent);
        border-left-width: 0.5rem;
        margin: 0 0 1rem;
        padding: 0.6rem 0.9rem;
      }
      p {
        margin: 0;
      }
      div {
        margin-top: 0.75rem;
      }
      .what {
        font-weight: 600;
      }
    `,
  ];

  override render() {
    if (!this.trouble) return nothing;
    const { code, sentence, nextStep } = this.trouble;
    const inUnit = (text: string) => (this.lengthStyle ? lengthsIn(text, this.lengthStyle) : text);
    return html`<div data-code=${code}>
      <p class="what">${inUnit(sentence)}</p>
      <p>${inUnit(nextStep)}</p>
      <slot></slot>
    </div>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-trouble-note': TroubleNote;
  }
}
