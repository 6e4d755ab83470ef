import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Stock } from '../../server/contract/stock.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { formatLength } from '../text/lengths.js';
import { parseLength } from '../text/parse-length.js';
import { terms } from '../text/terms.js';
import './length-field.js';
import { sharedStyle } from './shared-style.js';

/** What is at hand: spare straights, and donors to cut from. Fires `stock` with the whole new Stock. */
@customElement('gw-stock-list')
export class StockList extends LitElement {
  @property({ attribute: false }) stock: Stock | null = null;
  @property({ attribute: false }) remembered: Stock | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  static override styles = [
    sharedStyle,
    css`
      li {
        align-items: center;
        border-top: 1px solid var(--line);
        display: flex;
        gap: 0.75rem;
        justify-content: space-between;
        padding: 0.3rem 0;
      }
      form input {
        width: 7rem;
      }
      form .count {
        width: 4.5rem;
      }
      .last {
        margin-top: 1rem;
      }
    `,
  ];

  override render() {
    const { stock } = this;
    if (!stock) return nothing;
    const empty = stock.straights.length === 0 && stock.donors.length === 0;
    const { unit } = this.lengthStyle;
    return html`
      ${
        empty && this.remembered
          ? html`<p><button class="small" @click=${() => this.remembered && this.tell(this.remembered)}>Use the list of last time</button></p>`
          : nothing
      }
      <h3>Spare straights</h3>
      <ul class="plain">
        ${stock.straights.map(
          (straight, i) => html`<li>
            <span><span class="number">${straight.count} × ${formatLength(straight.lengthMm, this.lengthStyle)}</span></span>
            ${this.removeButton(`${straight.count} straights`, () => ({ straights: stock.straights.filter((_, j) => j !== i) }))}
          </li>`,
        )}
      </ul>
      <form class="row" @submit=${this.addStraight}>
        <label class="field">How many<input class="count" name="count" type="number" min="1" max="999" value="1" required /></label>
        <label class="field">Length each, ${unit}<input name="length" required autocomplete="off" /></label>
        <button class="small">Add</button>
      </form>
      <h3 class="last">Donors</h3>
      <p class="quiet">A donor is ${terms.donor}. The saw takes the kerf (${terms.kerf}) at each cut; what remains is an offcut.</p>
      <ul class="plain">
        ${stock.donors.map(
          (donor, i) => html`<li>
            <span>${donor.id}: <span class="number">${formatLength(donor.lengthMm, this.lengthStyle)}</span></span>
            ${this.removeButton(donor.id, () => ({ donors: stock.donors.filter((_, j) => j !== i) }))}
          </li>`,
        )}
      </ul>
      <form class="row" @submit=${this.addDonor}>
        <label class="field">Name<input name="name" maxlength="40" autocomplete="off" placeholder="Donor ${stock.donors.length + 1}" /></label>
        <label class="field">Length, ${unit}<input name="length" required autocomplete="off" /></label>
        <button class="small">Add</button>
      </form>
      <div class="row last">
        <gw-length-field
          label="Kerf of the saw"
          .lengthMm=${stock.kerfMm}
          .lengthStyle=${unit === 'mm' ? this.lengthStyle : { unit: 'in', denominator: 64 }}
          mostMm="10"
          @length=${(e: CustomEvent<number>) => this.tell({ ...stock, kerfMm: e.detail })}
        ></gw-length-field>
        <gw-length-field
          label="Keep offcuts from"
          .lengthMm=${stock.reusableOffcutMm}
          .lengthStyle=${this.lengthStyle}
          mostMm="2000"
          @length=${(e: CustomEvent<number>) => this.tell({ ...stock, reusableOffcutMm: e.detail })}
        ></gw-length-field>
      </div>
    `;
  }

  private removeButton(name: string, change: () => Partial<Stock>) {
    return html`<button class="small" aria-label="Remove ${name}" @click=${() => this.stock && this.tell({ ...this.stock, ...change() })}>Remove</button>`;
  }

  private addStraight(event: Event): void {
    const read = this.read(event);
    if (!read || !this.stock) return;
    const straights = [
      ...this.stock.straights,
      { lengthMm: read.lengthMm, count: Math.max(1, Math.round(Number(read.data.get('count')))) },
    ];
    this.tell({ ...this.stock, straights });
  }

  private addDonor(event: Event): void {
    const read = this.read(event);
    if (!read || !this.stock) return;
    const taken = new Set(this.stock.donors.map((d) => d.id));
    let number = this.stock.donors.length + 1;
    let id = String(read.data.get('name') ?? '').trim() || `Donor ${number}`;
    while (taken.has(id)) id = `Donor ${++number}`;
    this.tell({ ...this.stock, donors: [...this.stock.donors, { id, lengthMm: read.lengthMm }] });
  }

  private read(event: Event): { data: FormData; lengthMm: number } | null {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const data = new FormData(form);
    const field = form.elements.namedItem('length') as HTMLInputElement;
    const lengthMm = parseLength(field.value, this.lengthStyle.unit);
    field.setCustomValidity(lengthMm ? '' : 'Type a length such as 10 or 8 3/4.');
    field.addEventListener('input', () => field.setCustomValidity(''), { once: true });
    if (!form.reportValidity() || !lengthMm) return null;
    form.reset();
    return { data, lengthMm };
  }

  private tell(stock: Stock): void {
    this.dispatchEvent(new CustomEvent<Stock>('stock', { detail: stock }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-stock-list': StockList;
  }
}
