import { css, html, LitElement } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { sharedStyle } from './shared-style.js';

const styles: readonly { key: string; label: string; spoken: string; style: LengthStyle }[] = [
  { key: 'in16', label: 'inches, 1/16', spoken: 'inches, sixteenths', style: { unit: 'in', denominator: 16 } },
  { key: 'in32', label: 'inches, 1/32', spoken: 'inches, thirty-seconds', style: { unit: 'in', denominator: 32 } },
  { key: 'in64', label: 'inches, 1/64', spoken: 'inches, sixty-fourths', style: { unit: 'in', denominator: 64 } },
  { key: 'mm', label: 'millimetres', spoken: 'millimetres', style: { unit: 'mm', denominator: 16 } },
];

/** One switch for every length of the tool. Fires `length-style` with the chosen LengthStyle as detail. */
@customElement('gw-unit-switch')
export class UnitSwitch extends LitElement {
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  static override styles = [
    sharedStyle,
    css`
      label {
        align-items: center;
        display: flex;
        gap: 0.5rem;
      }
      @media (max-width: 40rem) {
        span {
          clip-path: inset(50%);
          height: 1px;
          overflow: hidden;
          position: absolute;
          width: 1px;
        }
      }
      select {
        min-height: 2.75rem;
      }
    `,
  ];

  override render() {
    const { unit, denominator } = this.lengthStyle;
    const current = unit === 'mm' ? 'mm' : `in${denominator}`;
    return html`<label
      ><span>Lengths in</span>
      <select @change=${this.change}>
        ${styles.map((s) => html`<option value=${s.key} ?selected=${s.key === current} aria-label=${s.spoken}>${s.label}</option>`)}
      </select></label
    >`;
  }

  private change(event: Event): void {
    const key = (event.target as HTMLSelectElement).value;
    const chosen = styles.find((s) => s.key === key) ?? styles[0];
    const style: LengthStyle =
      chosen.style.unit === 'mm' ? { ...chosen.style, denominator: this.lengthStyle.denominator } : chosen.style;
    this.dispatchEvent(new CustomEvent<LengthStyle>('length-style', { detail: style }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-unit-switch': UnitSwitch;
  }
}
