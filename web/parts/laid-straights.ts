import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import type { Report } from '../../server/contract/report.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { type LaidAnew, laidAnewWords } from '../text/laid-anew-words.js';
import { sharedStyle } from './shared-style.js';

/** What to lay, and from which end: names alone do not tell it. */
function layInWords({ lies, begins, slides }: Pick<LaidAnew, 'lies' | 'begins' | 'slides'>): string {
  if (slides) return 'The same pieces, pushed together.';
  if (lies === '') return 'Nothing lies there then: the pieces beside it meet.';
  return begins === '' ? `Lay, in this order: ${lies}` : `Lay, in this order, beginning ${begins}: ${lies}`;
}

/**
 * The straights that a plan lays of other pieces than now: what comes out, and what lies there then. Fires `choose` with a
 * piece that comes out.
 */
@customElement('gw-laid-straights')
export class LaidStraights extends LitElement {
  @property({ attribute: false }) plan: PlanWithoutAlternatives | null = null;
  @property({ attribute: false }) report: Report | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  static override styles = [
    sharedStyle,
    css`
      li {
        border-top: 1px solid var(--line);
        padding: 0.6rem 0;
      }
      p {
        margin: 0;
      }
    `,
  ];

  override render() {
    const laid = this.plan && this.report ? laidAnewWords(this.plan, this.report, this.lengthStyle) : [];
    if (laid.length === 0) return nothing;
    return html`<h2>${laid.every((one) => one.slides) ? 'Straights to push together' : 'Straights to lay anew'}</h2>
      <ul class="plain">
        ${laid.map(
          ({ title, takenOut, toShow, ...then }) => html`<li>
            <p><b>${title}</b></p>
            ${takenOut === '' ? nothing : html`<p>Take out: ${takenOut}${toShow.map(this.showButton)}</p>`}
            <p>${layInWords(then)}</p>
          </li>`,
        )}
      </ul>`;
  }

  /** Names alone are not to be found on the table. */
  private readonly showButton = ({ thing, name }: LaidAnew['toShow'][number]) =>
    html` <button
      class="small"
      aria-label="Show ${name} on the picture"
      @click=${() => this.dispatchEvent(new CustomEvent<string>('choose', { detail: thing }))}
    >
      Show ${name}
    </button>`;
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-laid-straights': LaidStraights;
  }
}
