import { css, html, LitElement, nothing } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { parseLength } from '../text/parse-length.js';
import { fieldLength, unitName } from '../text/written-length.js';
import { sharedStyle, wrongEntryStyle } from './shared-style.js';

/**
 * A length typed by a person, in the unit of the tool: `3 1/16`, `3.5`, or with a unit of its own, `76 mm`.
 * Fires `length` with millimetres as detail (null when emptied and `optional`).
 */
@customElement('gw-length-field')
export class LengthField extends LitElement {
  @property() label = '';
  @property({ attribute: false }) lengthMm: number | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;
  @property({ type: Boolean }) optional = false;
  @property({ type: Number }) leastMm = 0;
  @property({ type: Number }) mostMm = 100000;
  @state() private wrong = '';

  static override styles = [
    sharedStyle,
    wrongEntryStyle,
    css`
      .entry {
        align-items: center;
        display: flex;
        gap: 0.4rem;
      }
      input {
        width: 7rem;
      }
    `,
  ];

  override render() {
    const { unit } = this.lengthStyle;
    return html`<label class="field"
        ><span>${this.label}</span>
        <span class="entry">
          <input
            inputmode=${unit === 'mm' ? 'decimal' : 'text'}
            autocomplete="off"
            .value=${this.lengthMm === null ? '' : fieldLength(this.lengthMm, this.lengthStyle)}
            aria-invalid=${this.wrong ? 'true' : 'false'}
            aria-describedby=${this.wrong ? 'wrong' : nothing}
            @change=${this.change}
          />
          <span aria-hidden="true">${unit}</span><span class="only-read">${unitName[unit]}</span>
        </span> </label
      >${this.wrong ? html`<p class="wrong" id="wrong">${this.wrong}</p>` : nothing}`;
  }

  private change(event: Event): void {
    const typed = (event.target as HTMLInputElement).value;
    const lengthMm = parseLength(typed, this.lengthStyle.unit);
    if (typed.trim() === '' && this.optional) this.tell(null);
    else if (lengthMm === null) {
      this.wrong =
        this.lengthStyle.unit === 'in' ? 'Type a length such as 3 1/16 or 76 mm.' : 'Type a length such as 76.5.';
    } else if (lengthMm < this.leastMm || lengthMm > this.mostMm) {
      const [least, most] = [this.leastMm, this.mostMm].map((mm) => fieldLength(mm, this.lengthStyle));
      this.wrong = `It must be between ${least} and ${most} ${this.lengthStyle.unit}.`;
    } else this.tell(lengthMm);
  }

  private tell(lengthMm: number | null): void {
    this.wrong = '';
    this.dispatchEvent(new CustomEvent<number | null>('length', { detail: lengthMm }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-length-field': LengthField;
  }
}
