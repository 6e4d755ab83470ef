import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Report } from '../../server/contract/report.js';
import type { Settings } from '../../server/contract/tables.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { type OwnTrack, ownTrack } from '../text/own-track.js';
import { terms } from '../text/terms.js';
import type { LengthField } from './length-field.js';
import './length-field.js';
import { sharedStyle } from './shared-style.js';
import type { TapeChecks, Tapes } from './tape-checks.js';
import './tape-checks.js';

/** What measuring needs to know: marker side, track, square corners, tape checks. Fires `settings` with the new Settings. */
@customElement('gw-measure-settings')
export class MeasureSettings extends LitElement {
  @property({ attribute: false }) settings: Settings | null = null;
  /** What is measured so far: it names the sides of the table. */
  @property({ attribute: false }) report: Report | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  static override styles = [
    sharedStyle,
    css`
      .tracks {
        display: grid;
        gap: 0.25rem;
      }
      .own {
        display: grid;
        gap: 0.75rem;
        grid-template-columns: repeat(auto-fill, minmax(11rem, 1fr));
        margin: 0.5rem 0 0.5rem 2.1rem;
      }
      gw-length-field {
        margin-bottom: 0.75rem;
      }
    `,
  ];

  /** Takes in what is being typed, as leaving the field does. */
  takeTyped(): void {
    const at = this.shadowRoot?.activeElement;
    if (at instanceof HTMLElement) at.blur();
  }

  /** The first field with an entry that cannot be taken: what stands there is not what would be measured by. */
  get wrongField(): LengthField | TapeChecks | null {
    const lengths = [...this.renderRoot.querySelectorAll('gw-length-field')];
    const tapes = this.renderRoot.querySelector('gw-tape-checks');
    return lengths.find((field) => field.isWrong) ?? (tapes?.isWrong ? tapes : null);
  }

  override render() {
    const settings = this.settings;
    if (!settings) return nothing;
    const kind = typeof settings.track === 'string' ? settings.track : 'own';
    const own = ownTrack(settings.track);
    return html`
      <gw-length-field
        label="Side of the marker’s black square, as you measure it"
        .lengthMm=${settings.markerSideMm}
        .lengthStyle=${{ unit: 'mm', denominator: 64 }}
        .anyUnit=${this.lengthStyle.unit === 'in'}
        leastMm="10"
        mostMm="1000"
        @length=${(e: CustomEvent<number>) => this.tell({ markerSideMm: e.detail })}
      ></gw-length-field>
      <fieldset>
        <legend>Track</legend>
        <p class="quiet">A rail is ${terms.rail}. How high it stands decides where it really lies, so choose well.</p>
        <div class="tracks" role="presentation">
          ${this.trackChoice('tall', kind, 'Tall: rail tops about 11/16 in (17.5 mm) above the table')}
          ${this.trackChoice('low', kind, 'Low: rail tops about 7/16 in (11 mm) above the table')}
          ${this.trackChoice('own', kind, 'Mine, measured by me')}
        </div>
        ${
          kind === 'own'
            ? html`<div class="own">
                ${this.ownField('railTopMm', 'Table to rail top', own)} ${this.ownField('headWidthMm', 'Width of a rail head', own)}
                ${this.ownField('gaugeMm', 'Gauge: between the outer rail heads, inside', own)}
              </div>`
            : nothing
        }
      </fieldset>
      <fieldset>
        <legend>Table</legend>
        <label class="tick"
          ><input
            type="checkbox"
            .checked=${settings.squareCorners}
            aria-describedby="square"
            @change=${(e: Event) => this.tell({ squareCorners: (e.target as HTMLInputElement).checked })}
          />The corners of my table are square</label
        >
        <p class="quiet" id="square">Say so only if a carpenter’s square, or two equal diagonals, told you: then lengths far from a marker get surer. A corner that measures clearly off square is not forced; the measured plan names it.</p>
      </fieldset>
      <gw-tape-checks
        .tapes=${settings}
        .report=${this.report}
        .lengthStyle=${this.lengthStyle}
        @tapes=${(e: CustomEvent<Tapes>) => this.tell(e.detail)}
      ></gw-tape-checks>
    `;
  }

  private trackChoice(value: 'tall' | 'low' | 'own', kind: string, label: string) {
    return html`<label class="tick"
      ><input type="radio" name="track" .checked=${kind === value} @change=${() => this.chooseTrack(value)} />${label}</label
    >`;
  }

  private ownField(key: keyof OwnTrack, label: string, own: OwnTrack) {
    return html`<gw-length-field
      .label=${label}
      .lengthMm=${own[key]}
      .lengthStyle=${this.lengthStyle.unit === 'mm' ? this.lengthStyle : { unit: 'in', denominator: 64 }}
      leastMm="1"
      mostMm="100"
      @length=${(e: CustomEvent<number>) => this.tell({ track: { ...own, [key]: e.detail } })}
    ></gw-length-field>`;
  }

  private chooseTrack(value: 'tall' | 'low' | 'own'): void {
    this.tell({ track: value === 'own' ? { ...ownTrack(this.settings?.track ?? 'tall') } : value });
  }

  private tell(change: Partial<Settings>): void {
    if (this.settings)
      this.dispatchEvent(new CustomEvent<Settings>('settings', { detail: { ...this.settings, ...change } }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-measure-settings': MeasureSettings;
  }
}
