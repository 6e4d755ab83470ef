import { css, html, LitElement } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { TapeCheck } from '../../server/contract/tables.js';
import { defaultLengthStyle, formatLength, type LengthStyle } from '../../server/units/format-length.js';
import { parseLength } from '../text/parse-length.js';
import { sharedStyle } from './shared-style.js';

/** Distances between two markers, measured with a tape. Fires `checks` with the whole new list. */
@customElement('gw-tape-checks')
export class TapeChecks extends LitElement {
  @property({ attribute: false }) checks: readonly TapeCheck[] = [];
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  static override styles = [
    sharedStyle,
    css`
      li {
        align-items: center;
        border-top: 1px solid var(--line);
        display: flex;
        gap: 1rem;
        justify-content: space-between;
        padding: 0.25rem 0;
      }
      input {
        width: 6rem;
      }
    `,
  ];

  override render() {
    return html`<details ?open=${this.checks.length > 0}>
      <summary>Tape check (better lengths on a long table)</summary>
      <p class="quiet">Measure with a tape from the middle of one marker to the middle of another, and type it here.</p>
      <ul class="plain">
        ${this.checks.map(
          (check, i) => html`<li>
            <span>Marker ${check.from} to marker ${check.to}: <span class="number">${formatLength(check.lengthMm, this.lengthStyle)}</span></span>
            <button class="small" @click=${() => this.tell(this.checks.filter((_, j) => j !== i))}>Remove</button>
          </li>`,
        )}
      </ul>
      <form class="row" @submit=${this.add}>
        <label class="field">From marker<input name="from" type="number" min="0" max="586" required /></label>
        <label class="field">To marker<input name="to" type="number" min="0" max="586" required /></label>
        <label class="field">Length, ${this.lengthStyle.unit}<input name="length" required autocomplete="off" /></label>
        <button>Add</button>
      </form>
    </details>`;
  }

  private add(event: Event): void {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const data = new FormData(form);
    const field = form.elements.namedItem('length') as HTMLInputElement;
    const lengthMm = parseLength(String(data.get('length')), this.lengthStyle.unit);
    field.setCustomValidity(lengthMm ? '' : 'Type a length such as 72 1/16 or 1830 mm.');
    if (!form.reportValidity() || !lengthMm) {
      field.addEventListener('input', () => field.setCustomValidity(''), { once: true });
      return;
    }
    this.tell([...this.checks, { from: Number(data.get('from')), to: Number(data.get('to')), lengthMm, uMm: null }]);
    form.reset();
  }

  private tell(checks: readonly TapeCheck[]): void {
    this.dispatchEvent(new CustomEvent<readonly TapeCheck[]>('checks', { detail: checks }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-tape-checks': TapeChecks;
  }
}
