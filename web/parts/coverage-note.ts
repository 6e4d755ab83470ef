import { css, html, LitElement, nothing, svg } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Coverage } from '../../server/contract/coverage.js';
import { coverageAdvice, coverageLegend, otherAdvice } from '../../server/contract/coverage-words.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { unbroken } from '../../server/units/unbroken.js';
import { unseenTint } from '../canvas/coverage-marks.js';
import { sharedStyle } from './shared-style.js';
import { tintFill, tintPatterns, tintStyle } from './tint-style.js';

/**
 * What one more photo or marker would bring, and the switch that tints the picture by how sure it is, with what each
 * tint means. Fires `cover` with whether the picture is to be tinted.
 */
@customElement('gw-coverage-note')
export class CoverageNote extends LitElement {
  @property({ attribute: false }) coverage: Coverage | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;
  @property({ type: Boolean }) shown = false;

  static override styles = [
    sharedStyle,
    tintStyle,
    css`
      ul {
        display: grid;
        gap: 0.25rem 1rem;
        grid-template-columns: repeat(auto-fill, minmax(12rem, 1fr));
        margin: 0.25rem 0 0.75rem;
      }
      li {
        align-items: center;
        display: flex;
        gap: 0.5rem;
      }
      .place {
        fill: none;
        stroke: var(--draw-gap);
        stroke-dasharray: 4 2;
        stroke-width: 2;
      }
      svg {
        background: #ffffff;
        border: 1px solid var(--ink);
        flex: none;
        height: 1.25rem;
        width: 2rem;
      }
    `,
  ];

  override render() {
    const { coverage, lengthStyle } = this;
    if (!coverage) return nothing;
    const other = otherAdvice(coverage, lengthStyle);
    return html`<h2>How sure, and where</h2>
      <p class="advice">${unbroken(coverageAdvice(coverage, lengthStyle))}</p>
      ${other ? html`<p class="quiet">${unbroken(other)}</p>` : nothing}
      <label class="tick"
        ><input type="checkbox" .checked=${this.shown} @change=${this.toggle} />Tint the picture by how sure it is</label
      >
      ${this.shown ? this.legend(coverage) : nothing}`;
  }

  private legend(coverage: Coverage) {
    const steps = coverageLegend(this.lengthStyle).map((text, tint) => ({ text, tint }));
    const unseen = coverage.cells.some((cell) => typeof cell === 'string');
    const all = unseen ? [...steps, { text: 'not seen', tint: unseenTint }] : steps;
    return html`<p class="quiet" id="meaning">A clearance read there, from a rail to the nearest table edge, is</p>
      <ul class="plain" aria-labelledby="meaning">
        ${all.map(
          ({ text, tint }) => html`<li>
            <svg aria-hidden="true" viewBox="0 0 32 20">${tintPatterns(1)}${svg`<rect class="tint tint-${tint}" fill=${tintFill(tint)} width="32" height="20" />`}</svg>${unbroken(text)}
          </li>`,
        )}
        ${coverage.helps.map(
          ({ kind }) => html`<li>
            <svg aria-hidden="true" viewBox="0 0 32 20">${kind === 'marker' ? svg`<rect class="place" x="9" y="3" width="14" height="14" />` : svg`<circle class="place" cx="16" cy="10" r="7" />`}</svg>${kind === 'marker' ? 'place for one more marker sheet' : 'the phone above here for one more photo'}
          </li>`,
        )}
      </ul>`;
  }

  private readonly toggle = (e: Event): void => {
    this.dispatchEvent(new CustomEvent<boolean>('cover', { detail: (e.target as HTMLInputElement).checked }));
  };
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-coverage-note': CoverageNote;
  }
}
