import { css, html, nothing } from 'lit';
import { customElement } from 'lit/decorators.js';
import { spacingExtremes } from '../../server/contract/spacing-extremes.js';
import type { Preference, Wishes } from '../../server/contract/wishes.js';
import { otherWayTexts, preferenceTexts } from '../text/preferences.js';
import { stepChoices } from '../text/step-choices.js';
import './length-field.js';
import { sharedStyle } from './shared-style.js';
import { WishPart } from './wish-part.js';

/** A long car to start from, 11 × 2 1/2 in on trucks 7 1/2 in apart: common practice, no source. */
const usualCar = { lengthMm: 279.4, truckCentresMm: 190.5, widthMm: 63.5 };

/** How the fillers are to be chosen. Fires `wishes` with a partial Wishes. */
@customElement('gw-wish-rules')
export class WishRules extends WishPart {
  static override styles = [
    sharedStyle,
    css`
      fieldset {
        margin-top: 1rem;
      }
      .joint-room {
        margin-top: 0.5rem;
      }
      .fields {
        display: grid;
        gap: 0.75rem;
        grid-template-columns: repeat(auto-fill, minmax(11rem, 1fr));
      }
    `,
  ];

  override render() {
    const { wishes } = this;
    if (!wishes) return nothing;
    const steps = stepChoices(wishes.stepMm, this.lengthStyle.unit);
    return html`
      <label class="tick"
        ><input type="checkbox" .checked=${wishes.closeGaps} @change=${() => this.wish({ closeGaps: !wishes.closeGaps })} />Close every open gap</label
      >
      <label class="tick"
        ><input
          type="checkbox"
          .checked=${wishes.allowFreed ?? false}
          @change=${() => this.wish({ allowFreed: !wishes.allowFreed })}
        />Sections that become spare may be used again or cut</label
      >
      <fieldset>
        <legend>What counts most</legend>
        ${(Object.keys(preferenceTexts) as Preference[]).map(
          (prefer) => html`<label class="tick"
            ><input type="radio" name="prefer" .checked=${wishes.way === undefined && wishes.prefer === prefer} @change=${() => this.wish({ prefer, way: undefined })} />${preferenceTexts[prefer]}</label
          >`,
        )}
        ${
          wishes.way === undefined
            ? nothing
            : html`<label class="tick"><input type="radio" name="prefer" .checked=${true} />${otherWayTexts[wishes.way]}</label>`
        }
      </fieldset>
      <div class="fields">
        <label class="field"
          >Fillers in steps of
          <select @change=${(e: Event) => this.wish({ stepMm: Number((e.target as HTMLSelectElement).value) })}>
            ${steps.map((s) => html`<option value=${s.mm} .selected=${Math.abs(s.mm - wishes.stepMm) < 1e-6}>${s.name}</option>`)}
          </select>
        </label>
        ${this.length('Shortest filler worth cutting', wishes.shortestFillerMm, 5, (shortestFillerMm) => ({ shortestFillerMm }))}
        ${this.length('Room that each joint takes', wishes.jointAllowanceMm, 0, (jointAllowanceMm) => ({ jointAllowanceMm }), 5)}
      </div>
      <p class="quiet joint-room">
        Room that each joint takes: how far apart the rail ends stay when you push two sections together by hand. Over many
        joints it adds up. Push four or five together, measure the slits and type the usual one; 0 where they meet.
      </p>
      ${this.car(wishes)} ${this.spacings(wishes)}
    `;
  }

  private length(
    label: string,
    lengthMm: number,
    leastMm: number,
    change: (mm: number) => Partial<Wishes>,
    mostMm = 1000,
  ) {
    return html`<gw-length-field
      .label=${label}
      .lengthMm=${lengthMm}
      .lengthStyle=${this.lengthStyle}
      .leastMm=${leastMm}
      .mostMm=${mostMm}
      @length=${(e: CustomEvent<number>) => this.wish(change(e.detail))}
    ></gw-length-field>`;
  }

  /** The longest car that is to run: the plan then says where it comes nearest to something. */
  private car(wishes: Wishes) {
    const { car } = wishes;
    const field = (label: string, key: keyof typeof usualCar) =>
      this.length(label, (car ?? usualCar)[key], 10, (mm) => ({ car: { ...(car ?? usualCar), [key]: mm } }), 2000);
    return html`<label class="tick"
        ><input type="checkbox" .checked=${car !== undefined} @change=${() => this.wish({ car: car ? undefined : usualCar })} />Check the room for my longest car</label
      >${car ? html`<div class="fields">${field('Its length', 'lengthMm')} ${field('Between its truck centres', 'truckCentresMm')} ${field('Its width', 'widthMm')}</div>` : nothing}`;
  }

  /** Pairs of runs that lie side by side: how far apart they are to be. */
  private spacings(wishes: Wishes) {
    const pairs = this.report ? spacingExtremes(this.report).map((p) => p.runs) : [];
    if (pairs.length === 0) return nothing;
    return html`<h3>Spacing</h3>
      ${pairs.map((runs) => {
        const wish = wishes.spacing.find((s) => s.runs.every((run) => runs.includes(run)));
        const others = wishes.spacing.filter((s) => s !== wish);
        return html`<gw-length-field
          optional
          label=${`Run ${runs[0]} to run ${runs[1]}, at least (empty: as it lies)`}
          .lengthMm=${wish?.atLeastMm ?? null}
          .lengthStyle=${this.lengthStyle}
          leastMm="1"
          mostMm="2000"
          @length=${(e: CustomEvent<number | null>) =>
            this.wish({
              spacing: e.detail === null ? others : [...others, { runs: [runs[0], runs[1]], atLeastMm: e.detail }],
            })}
        ></gw-length-field>`;
      })}`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-wish-rules': WishRules;
  }
}
