import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Report } from '../../server/contract/report.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import type { MeasuredThing } from '../canvas/measured-things.js';
import { railRows } from '../text/joint-rows.js';
import { terms } from '../text/terms.js';
import { sharedStyle } from './shared-style.js';

/** What more is known of the chosen thing. */
@customElement('gw-thing-details')
export class ThingDetails extends LitElement {
  @property({ attribute: false }) thing: MeasuredThing | null = null;
  @property({ attribute: false }) report: Report | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  static override styles = [
    sharedStyle,
    css`
      dl {
        display: grid;
        gap: 0.1rem 1rem;
        grid-template-columns: auto 1fr;
        margin: 0.2rem 0 0.6rem 0.9rem;
      }
      dt {
        color: var(--pencil);
      }
      dd {
        margin: 0;
      }
    `,
  ];

  override render() {
    const { thing } = this;
    if (!thing) return nothing;
    const joint = this.report?.joints.find((j) => `joint:${j.id}` === thing.id);
    const rows: [string, unknown][] = [];
    if (thing.run) rows.push(['Run', thing.run]);
    if (joint) rows.push(...railRows(joint, this.lengthStyle));
    if (joint?.kinkRad) {
      const [angle, half] = [joint.kinkRad.value, 1.96 * joint.kinkRad.u].map((rad) => Math.abs((rad * 180) / Math.PI));
      rows.push(['Kink', html`${angle.toFixed(1)}° ± ${half.toFixed(1)}° <span class="quiet">(${terms.kink})</span>`]);
    }
    if (thing.photos.length > 0) rows.push(['Seen in', thing.photos.join(', ')]);
    if (rows.length === 0) return nothing;
    return html`<dl>
      ${rows.map(([name, value]) => html`<dt>${name}</dt><dd>${value}</dd>`)}
    </dl>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-thing-details': ThingDetails;
  }
}
