import { css, html, nothing } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { Report } from '../../server/contract/report.js';
import type { Wishes } from '../../server/contract/wishes.js';
import { firstClearanceMm } from '../canvas/first-clearance.js';
import { formatEstimate, formatLength } from '../text/lengths.js';
import './length-field.js';
import { sharedStyle } from './shared-style.js';
import { WishPart } from './wish-part.js';

type Clearance = Wishes['clearance'][number];

/** Room wished between rail and edge, side by side of the table. Fires `wishes` with a partial Wishes. */
@customElement('gw-wish-clearances')
export class WishClearances extends WishPart {
  static override styles = [
    sharedStyle,
    css`
      li {
        border-top: 1px solid var(--line);
        padding: 0.5rem 0;
      }
      li p {
        margin: 0;
      }
    `,
  ];

  override render() {
    const { report, wishes } = this;
    if (!report || !wishes) return nothing;
    const free = report.table.sides.filter((side) => !wishes.clearance.some((c) => c.side === side.name));
    return html`
      <ul class="plain">
        ${wishes.clearance.map((wish, i) => this.row(report, wish, i))}
      </ul>
      ${wishes.clearance.length === 0 ? html`<p class="quiet">No wish: the track may stay as near to the edge as it lies.</p>` : nothing}
      <div class="row">
        ${(free.length > 0 ? free : report.table.sides).map(
          (side) =>
            html`<button class="small" @click=${() => this.add(report, side.name)}>+ Room along side ${side.name}</button>`,
        )}
      </div>
    `;
  }

  private row(report: Report, wish: Clearance, i: number) {
    const now = report.clearances
      .filter((c) => c.side === wish.side)
      .sort((a, b) => a.distance.value - b.distance.value)[0];
    const length = report.table.sides.find((s) => s.name === wish.side)?.length.value ?? 100000;
    const whole = wish.fromMm === undefined && wish.toMm === undefined;
    return html`<li>
      <h3>Side ${wish.side}</h3>
      ${now ? html`<p class="quiet">Now <span class="number">${formatEstimate(now.distance, this.lengthStyle)}</span> at the narrowest.</p>` : nothing}
      <div class="row">
        <gw-length-field
          label=${`At least, side ${wish.side}`}
          .lengthMm=${wish.atLeastMm}
          .lengthStyle=${this.lengthStyle}
          mostMm="5000"
          @length=${(e: CustomEvent<number>) => this.change(i, { ...wish, atLeastMm: e.detail })}
        ></gw-length-field>
        <button class="small" aria-label="Remove the wish for side ${wish.side}" @click=${() => this.take(i)}>Remove</button>
      </div>
      <label class="tick"
        ><input
          type="checkbox"
          .checked=${!whole}
          @change=${() => this.change(i, whole ? { ...wish, fromMm: 0, toMm: length } : { side: wish.side, atLeastMm: wish.atLeastMm })}
        />Only along part of side ${wish.side}</label
      >
      ${
        whole
          ? nothing
          : html`<div class="row">
              ${(['fromMm', 'toMm'] as const).map(
                (key) => html`<gw-length-field
                  label=${key === 'fromMm' ? 'from' : 'to'}
                  .lengthMm=${wish[key] ?? (key === 'fromMm' ? 0 : length)}
                  .lengthStyle=${this.lengthStyle}
                  .mostMm=${length}
                  @length=${(e: CustomEvent<number>) => this.change(i, { ...wish, [key]: e.detail })}
                ></gw-length-field>`,
              )}
              <span class="quiet">of ${formatLength(length, this.lengthStyle)}, from where side ${wish.side} begins</span>
            </div>`
      }
    </li>`;
  }

  private add(report: Report, side: string): void {
    const atLeastMm = firstClearanceMm(report, side, this.lengthStyle.unit);
    this.tell([...(this.wishes?.clearance ?? []), { side, atLeastMm }]);
  }

  private change(i: number, wish: Clearance): void {
    this.tell((this.wishes?.clearance ?? []).map((c, j) => (j === i ? wish : c)));
  }

  private take(i: number): void {
    this.tell((this.wishes?.clearance ?? []).filter((_, j) => j !== i));
  }

  private tell(clearance: Clearance[]): void {
    this.wish({ clearance });
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-wish-clearances': WishClearances;
  }
}
