import { css, html, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { stayToggled } from '../canvas/wish-by-touch.js';
import { formatLength } from '../text/lengths.js';
import { sharedStyle } from './shared-style.js';
import { WishPart } from './wish-part.js';

/** Pieces that must not move. Fires `wishes` with a partial Wishes, `choose` with a piece so that it is shown. */
@customElement('gw-wish-stay')
export class WishStay extends WishPart {
  @property() chosen: string | null = null;

  static override styles = [
    sharedStyle,
    css`
      li {
        align-items: center;
        border-left: 6px solid transparent;
        display: flex;
        gap: 0.5rem;
        justify-content: space-between;
        padding-left: 0.4rem;
      }
      li.chosen {
        background: var(--wash);
        border-left-color: var(--accent);
      }
    `,
  ];

  override render() {
    const { report, wishes } = this;
    if (!report || !wishes) return nothing;
    const count = wishes.stay.reduce((n, s) => n + s.pieces.length, 0);
    return html`<details ?open=${count > 0 || this.chosen?.startsWith('piece:')}>
      <summary>${count === 0 ? 'None so far' : count === 1 ? '1 piece' : `${count} pieces`}: choose</summary>
      <p class="quiet">Screwed down, in a tunnel, or just right: tick what must not move. On the picture a touch can make a piece stay.</p>
      ${report.runs.map(
        (run) => html`<h3>Run ${run.id}</h3>
          <ul class="plain">
            ${run.pieces.map((piece, i) => {
              const id = `piece:${run.id}:${i}`;
              const length = piece.kind === 'straight' ? piece.length.value : piece.radius.value;
              const name = piece.kind === 'straight' ? `Straight ${i + 1}` : `Curve ${i + 1}, radius`;
              return html`<li class=${id === this.chosen ? 'chosen' : ''}>
                <label class="tick"
                  ><input type="checkbox" .checked=${this.stays(run.id, i)} @change=${() => this.toggle(run.id, i)} />${name}
                  <span class="number">${formatLength(length, this.lengthStyle)}</span></label
                >
                <button class="small" aria-label="Show ${name} of run ${run.id}" @click=${() => this.show(id)}>Show</button>
              </li>`;
            })}
          </ul>`,
      )}
    </details>`;
  }

  private stays(run: string, piece: number): boolean {
    return this.wishes?.stay.some((s) => s.run === run && s.pieces.includes(piece)) ?? false;
  }

  private toggle(run: string, piece: number): void {
    if (!this.wishes) return;
    const { stay } = stayToggled(this.wishes, run, piece);
    this.wish({ stay });
  }

  private show(id: string): void {
    this.dispatchEvent(new CustomEvent<string>('choose', { detail: id }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-wish-stay': WishStay;
  }
}
