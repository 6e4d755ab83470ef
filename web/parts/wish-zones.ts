import { css, html } from 'lit';
import { customElement } from 'lit/decorators.js';
import type { Wishes } from '../../server/contract/wishes.js';
import { putDown } from '../canvas/wish-by-touch.js';
import { footprints } from '../text/footprints.js';
import './length-field.js';
import { sharedStyle } from './shared-style.js';
import { WishPart } from './wish-part.js';

type Zone = Wishes['keepFree'][number];

/** Rectangles that the track must leave free: houses, platforms, anything. Fires `wishes` with a partial Wishes. */
@customElement('gw-wish-zones')
export class WishZones extends WishPart {
  static override styles = [
    sharedStyle,
    css`
      li {
        border-top: 1px solid var(--line);
        padding: 0.5rem 0;
      }
      .sizes {
        display: grid;
        gap: 0.5rem 0.75rem;
        grid-template-columns: repeat(auto-fill, minmax(9rem, 1fr));
        margin: 0.4rem 0;
      }
      .turn {
        width: 7rem;
      }
    `,
  ];

  override render() {
    const zones = this.wishes?.keepFree ?? [];
    return html`
      <ul class="plain">
        ${zones.map((zone, i) => this.row(zone, i))}
      </ul>
      <div class="row">
        <label class="field"
          >Put down
          <select id="kind">
            ${footprints.map((f, i) => html`<option value=${i}>${f.name}</option>`)}
          </select>
        </label>
        <button class="small" @click=${this.add}>Add</button>
      </div>
    `;
  }

  private row(zone: Zone, i: number) {
    const style = this.lengthStyle;
    const field = (label: string, lengthMm: number, leastMm: number, change: (mm: number) => Partial<Zone>) =>
      html`<gw-length-field
        .label=${label}
        .lengthMm=${lengthMm}
        .lengthStyle=${style}
        .leastMm=${leastMm}
        mostMm="20000"
        @length=${(e: CustomEvent<number>) => this.change(i, change(e.detail))}
      ></gw-length-field>`;
    return html`<li>
      <div class="row">
        <label class="field">Name<input maxlength="40" .value=${zone.name} @change=${(e: Event) => this.rename(i, e)} /></label>
        <button class="small" aria-label="Remove ${zone.name}" @click=${() => this.tell((this.wishes?.keepFree ?? []).filter((_, j) => j !== i))}>
          Remove
        </button>
      </div>
      <details>
        <summary>Size and place of ${zone.name}</summary>
        <div class="sizes">
          ${field('Width', zone.widthMm, 1, (widthMm) => ({ widthMm }))} ${field('Depth', zone.depthMm, 1, (depthMm) => ({ depthMm }))}
          ${field('Room around it', zone.marginMm, 0, (marginMm) => ({ marginMm }))}
          ${field('Middle, along side A', zone.centre[0], 0, (x) => ({ centre: [x, zone.centre[1]] }))}
          ${field('Middle, away from side A', zone.centre[1], 0, (y) => ({ centre: [zone.centre[0], y] }))}
          <label class="field"
            >Turned, degrees<input
              class="turn"
              type="number"
              step="5"
              .value=${String(Math.round((zone.angleRad * 180) / Math.PI))}
              @change=${(e: Event) => this.change(i, { angleRad: (Number((e.target as HTMLInputElement).value) * Math.PI) / 180 })}
          /></label>
        </div>
      </details>
    </li>`;
  }

  /** In the middle of the table, to be dragged from there. */
  private add(): void {
    const select = this.renderRoot.querySelector('#kind') as HTMLSelectElement;
    const outline = this.report?.table.outline ?? [[0, 0]];
    const middle = (axis: 0 | 1): number => outline.reduce((sum, p) => sum + p[axis], 0) / outline.length;
    if (this.wishes) this.tell(putDown(this.wishes, footprints[Number(select.value)], [middle(0), middle(1)]).keepFree);
  }

  private rename(i: number, event: Event): void {
    const name = (event.target as HTMLInputElement).value.trim();
    if (name) this.change(i, { name });
  }

  private change(i: number, part: Partial<Zone>): void {
    this.tell((this.wishes?.keepFree ?? []).map((z, j) => (j === i ? { ...z, ...part } : z)));
  }

  private tell(keepFree: Zone[]): void {
    this.wish({ keepFree });
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-wish-zones': WishZones;
  }
}
