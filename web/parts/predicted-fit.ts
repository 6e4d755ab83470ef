import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { isLaidAnew } from '../../server/contract/laid-anew.js';
import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import { besideWords, saidBeforeFillers } from '../../server/contract/plan-notices.js';
import type { Report } from '../../server/contract/report.js';
import { narrowestSpacing } from '../../server/contract/spacing-extremes.js';
import { wishInWords } from '../../server/contract/wish-words.js';
import type { Wishes } from '../../server/contract/wishes.js';
import { lengthsIn } from '../../server/units/both-units.js';
import type { Estimate } from '../../server/units/estimate.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { unbroken } from '../../server/units/unbroken.js';
import { formatEstimate, formatLength } from '../text/lengths.js';
import { terms } from '../text/terms.js';
import { sharedStyle } from './shared-style.js';

/** One line of a table of what is now, what will be and what is wished for. */
interface NowAndAfter {
  readonly name: string;
  readonly now: Estimate | null;
  readonly after: Estimate;
  readonly wishedMm: readonly number[];
}

/** What the plan will lead to: clearances now and then, how the loops close, wishes that cannot be met. */
@customElement('gw-predicted-fit')
export class PredictedFit extends LitElement {
  @property({ attribute: false }) plan: PlanWithoutAlternatives | null = null;
  @property({ attribute: false }) report: Report | null = null;
  @property({ attribute: false }) wishes: Wishes | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  static override styles = [
    sharedStyle,
    css`
      .scroll {
        margin-bottom: 1.25rem;
        overflow-x: auto;
      }
      table {
        border-collapse: collapse;
        width: 100%;
      }
      th,
      td {
        border-bottom: 1px solid var(--line);
        font-variant-numeric: tabular-nums;
        padding: 0.4rem 0.75rem 0.4rem 0;
        overflow-wrap: normal;
        text-align: left;
        vertical-align: top;
      }
    `,
  ];

  override render() {
    const { plan } = this;
    if (!plan) return nothing;
    return html`${this.unmet(plan)}${this.clearances(plan)}${this.spacings(plan)}${this.closing(plan)}${this.train(plan)}${this.warnings(plan)}`;
  }

  private unmet(plan: PlanWithoutAlternatives) {
    if (plan.unmet.length === 0) return nothing;
    return html`<div class="aside" role="note">
      <b>Not everything can be had</b>
      <ul>
        ${plan.unmet.map(
          (u) =>
            html`<li>${wishInWords(u.wish)}: short by <span class="number">${formatLength(u.shortByMm, this.lengthStyle)}</span>. ${unbroken(lengthsIn(u.cure ?? '', this.lengthStyle))}</li>`,
        )}
      </ul>
    </div>`;
  }

  private clearances(plan: PlanWithoutAlternatives) {
    const rows = plan.predicted.clearances.map(({ side, distance }): NowAndAfter => {
      const now = this.report?.clearances
        .filter((r) => r.side === side)
        .sort((a, b) => a.distance.value - b.distance.value)[0];
      const wishedMm = (this.wishes?.clearance ?? []).filter((w) => w.side === side).map((w) => w.atLeastMm);
      return { name: side, now: now?.distance ?? null, after: distance, wishedMm };
    });
    return this.nowAndAfter('Rail to edge, now and afterwards', 'Side', rows);
  }

  /** Spacings that are wished for; others follow from where the runs lie. */
  private spacings(plan: PlanWithoutAlternatives) {
    const rows = (plan.predicted.spacings ?? []).map(({ runs, distance }): NowAndAfter => {
      const now = this.report ? narrowestSpacing(this.report, runs) : null;
      const wish = this.wishes?.spacing.find((w) => w.runs.every((run) => runs.includes(run)));
      return {
        name: runs.join(' to '),
        now: now?.distance ?? null,
        after: distance,
        wishedMm: wish ? [wish.atLeastMm] : [],
      };
    });
    return this.nowAndAfter('Spacing, now and afterwards', 'Runs', rows);
  }

  private nowAndAfter(title: string, of: string, rows: readonly NowAndAfter[]) {
    if (rows.length === 0) return nothing;
    return html`<h3>${title}</h3>
      <div class="scroll" tabindex="0" role="region" aria-label=${title}>
        <table>
          <thead>
            <tr><th scope="col">${of}</th><th scope="col">Now</th><th scope="col">Afterwards</th><th scope="col">Wished</th></tr>
          </thead>
          <tbody>
            ${rows.map(
              ({ name, now, after, wishedMm }) => html`<tr>
                <th scope="row">${name}</th>
                <td>${now ? formatEstimate(now, this.lengthStyle) : '–'}</td>
                <td>${formatEstimate(after, this.lengthStyle)}</td>
                <td>${wishedMm.length > 0 ? wishedMm.map((mm) => formatLength(mm, this.lengthStyle)).join(', ') : '–'}</td>
              </tr>`,
            )}
          </tbody>
        </table>
      </div>`;
  }

  private closing(plan: PlanWithoutAlternatives) {
    if (plan.predicted.closing.length === 0) return nothing;
    return html`<h3>How the loops close</h3>
      <p class="quiet">Misclosure: ${terms.misclosure}. Loose joints take up a little of it.</p>
      <ul>
        ${plan.predicted.closing.map((c) => {
          const off = { value: Math.hypot(c.dxMm, c.dyMm), u: c.uMm ?? 0 };
          const degrees = Math.abs((c.kinkRad * 180) / Math.PI);
          if (!changes(plan, c.run))
            return html`<li>Run ${c.run} closes as it does now, with ${degrees.toFixed(2)}° of kink at each joint.</li>`;
          const length =
            c.uMm === undefined ? formatLength(off.value, this.lengthStyle) : formatEstimate(off, this.lengthStyle);
          return html`<li>Run ${c.run}: off by <span class="number">${length}</span>, and ${degrees.toFixed(2)}° of kink at each joint.</li>`;
        })}
      </ul>`;
  }

  /** Where the longest car comes nearest to something. */
  private train(plan: PlanWithoutAlternatives) {
    const { trainRoom } = plan;
    if (!trainRoom) return nothing;
    return html`<h3>Room for the longest car</h3>
      ${trainRoom.places.length === 0 ? html`<p>Nothing comes near it.</p>` : nothing}
      <ul>
        ${trainRoom.places.map((p) => {
          const room =
            p.roomMm < 0
              ? html`<b>hits</b> ${besideWords(p)}`
              : html`passes ${besideWords(p)} at <span class="number">${formatLength(p.roomMm, this.lengthStyle)}</span>`;
          return html`<li>On run ${p.run} it ${room}.</li>`;
        })}
      </ul>`;
  }

  private warnings(plan: PlanWithoutAlternatives) {
    // What is said before the fillers is not said once more.
    const warnings = plan.warnings.filter((w) => !saidBeforeFillers.includes(w.code));
    if (warnings.length === 0) return nothing;
    return html`<h3>To know before you cut</h3>
      <ul>
        ${warnings.map((w) => html`<li data-code=${w.code}>${unbroken(lengthsIn(w.message, this.lengthStyle))}</li>`)}
      </ul>`;
  }
}

/** Where no section of a run changes nothing was worked out that could be off: ± 0.00 would promise too much. */
function changes({ fillers, stretches }: PlanWithoutAlternatives, run: string): boolean {
  return fillers.some((f) => f.run === run) || stretches.some((s) => s.run === run && isLaidAnew(s));
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-predicted-fit': PredictedFit;
  }
}
