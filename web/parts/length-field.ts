import { css, html, LitElement, nothing, type PropertyValues } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { readLength } from '../text/read-length.js';
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
  /** A phone shows letters and the slash too, for a length in another unit than the one beside the field. */
  @property({ type: Boolean }) anyUnit = false;
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

  /** Whether what stands in it is no length that it takes: then nothing was told. */
  get isWrong(): boolean {
    return this.wrong !== '';
  }

  override focus(options?: FocusOptions): void {
    this.renderRoot.querySelector('input')?.focus(options);
  }

  override blur(): void {
    this.renderRoot.querySelector('input')?.blur();
  }

  /** A length from elsewhere takes the place of what was typed. */
  protected override willUpdate(changed: PropertyValues<this>): void {
    if (changed.has('lengthMm')) this.wrong = '';
  }

  override render() {
    const { unit } = this.lengthStyle;
    return html`<label class="field"
        ><span>${this.label}</span>
        <span class="entry">
          <input
            inputmode=${unit === 'mm' && !this.anyUnit ? 'decimal' : 'text'}
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
    const read = readLength(typed, this.lengthStyle, this);
    if (read.ok) this.tell(read.lengthMm);
    else this.wrong = read.wrong;
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
