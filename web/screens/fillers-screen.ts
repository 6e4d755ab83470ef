import { html, nothing } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { Plan } from '../../server/contract/plan.js';
import type { Report } from '../../server/contract/report.js';
import type { Wishes } from '../../server/contract/wishes.js';
import type { PictureFrame } from '../canvas/picture-frame.js';
import { plannedMarks } from '../canvas/planned-marks.js';
import '../parts/donor-strips.js';
import '../parts/filler-list.js';
import '../parts/gap-readings.js';
import { HoldPlace } from '../parts/hold-place.js';
import '../parts/laid-straights.js';
import '../parts/next-step.js';
import '../parts/plan-choice.js';
import '../parts/plan-notices.js';
import '../parts/predicted-fit.js';
import { sharedStyle } from '../parts/shared-style.js';
import '../parts/trouble-note.js';
import type { OpenTable } from '../state/app-state.js';
import { addressOf } from '../state/place.js';
import { TableScreen } from '../state/screen-base.js';
import { session } from '../state/session-instance.js';
import { whyOutdated } from '../state/why-outdated.js';
import { cutsOfBefore, measuredSince } from '../text/plan-of-before.js';
import { wishesToTake } from '../text/preferences.js';
import { terms } from '../text/terms.js';
import { measuredStyle } from './measured-style.js';
import { tablePictureOf } from './table-picture-of.js';

/** Step 5: the pieces to cut, what they lead to, and other ways. */
@customElement('gw-fillers-screen')
export class FillersScreen extends TableScreen {
  /** 0 is the plan itself, 1… its alternatives. */
  @state() private looked = 0;
  @state() private drawAfter = true;
  /** What is said before the fillers comes and goes while readings are typed in below. */
  protected readonly place = new HoldPlace(this, 'gw-gap-readings');

  static override styles = [sharedStyle, measuredStyle];

  /** Once it is known what plan there is, one that is missing or has other wishes is worked out by itself. */
  private toBegin = true;

  override connectedCallback(): void {
    super.connectedCallback();
    this.toBegin = true;
  }

  protected override updated(): void {
    const table = this.table;
    if (!this.toBegin || !table?.measured || !['ready', 'failed'].includes(table.plan.status)) return;
    this.toBegin = false;
    // Not over a plan of before: the cuts may have been made by it.
    if (!table.plan.value || whyOutdated(table) === 'wishes') void session.makePlan();
  }

  override render() {
    const table = this.table;
    if (!table) return nothing;
    const { plan } = table;
    const report = table.report.value;
    const working = plan.status === 'loading';
    const outdated = whyOutdated(table);
    return html`
      <h1 tabindex="-1">The fillers to cut</h1>
      <p>A filler is ${terms.filler}.${outdated === 'measured' ? '' : ' These make the track fit as measured and as you wish it.'}</p>
      ${
        table.measured
          ? html`<div class="row">
              <button class=${plan.value && !outdated ? '' : 'main'} ?disabled=${working} @click=${this.work}>
                ${plan.value ? 'Work them out again' : 'Work out the fillers'}
              </button>
              <span class="quiet" role="status">${working ? 'Working it out…' : ''}</span>
            </div>`
          : html`<p>Nothing is measured yet.</p><a class="button main" href=${addressOf({ table: table.id, step: 'photos' })}>Go to the photos</a>`
      }
      ${
        plan.trouble
          ? html`<gw-trouble-note .trouble=${plan.trouble} .lengthStyle=${this.state.lengthStyle}
              ><p><a href=${addressOf({ table: table.id, step: 'wishes' })}>Wishes, and what is at hand</a></p></gw-trouble-note
            >`
          : nothing
      }
      ${outdated === 'wishes' && !working ? html`<p class="aside">Your wishes or what is at hand have changed since this was worked out.</p>` : nothing}
      ${
        plan.value && outdated === 'measured'
          ? this.ofBefore(plan.value)
          : plan.value && report
            ? this.planned(table, plan.value, report)
            : report
              ? this.readings(table, report)
              : nothing
      }
      <gw-next-step .table=${table.id} step="fillers" .ready=${plan.value !== null && !outdated}></gw-next-step>
    `;
  }

  /** A plan of another measurement speaks of gaps and runs that this one may name otherwise: only its cuts are shown. */
  private ofBefore(plan: Plan) {
    return html`<p class="aside">${measuredSince}</p>
      <h2>${cutsOfBefore}</h2>
      ${
        plan.donors.length === 0
          ? html`<p>Nothing was to be cut.</p>`
          : html`<gw-donor-strips .plan=${plan} .lengthStyle=${this.state.lengthStyle}></gw-donor-strips>`
      }`;
  }

  private planned(table: OpenTable, plan: Plan, report: Report) {
    const { lengthStyle } = this.state;
    const one = [plan, ...plan.alternatives][this.looked] ?? plan;
    const extra = this.drawAfter ? (frame: PictureFrame) => plannedMarks(report, one, frame) : () => [];
    return html`
      <div class="split">
        <section class="picture" aria-label="Picture">
          <label class="tick"
            ><input type="checkbox" .checked=${this.drawAfter} @change=${() => (this.drawAfter = !this.drawAfter)} />Draw where the track will lie (dashed)</label
          >
          ${tablePictureOf(this.state, table, report, { extra, byRule: one.byRule })}
        </section>
        <section aria-label="Plan">
          ${this.looked > 0 ? html`<p class="aside">You look at another way; the cut sheet follows the plan, not this one.</p>` : nothing}
          <gw-plan-notices .plan=${one} .report=${report} .lengthStyle=${lengthStyle}></gw-plan-notices>
          <gw-filler-list
            .plan=${one}
            .report=${report}
            .lengthStyle=${lengthStyle}
            @choose=${(e: CustomEvent<string>) => session.choose(e.detail)}
          ></gw-filler-list>
          ${this.readings(table, report)}
          ${
            one.donors.length === 0
              ? nothing
              : html`<h2>Cuts</h2>
                <gw-donor-strips .plan=${one} .lengthStyle=${lengthStyle}></gw-donor-strips>`
          }
          <gw-laid-straights
            .plan=${one}
            .report=${report}
            .lengthStyle=${lengthStyle}
            @choose=${(e: CustomEvent<string>) => session.choose(e.detail)}
          ></gw-laid-straights>
          <h2>What it leads to</h2>
          <gw-predicted-fit .plan=${one} .report=${report} .wishes=${table.edited.wishes} .lengthStyle=${lengthStyle}></gw-predicted-fit>
        </section>
      </div>
      <gw-plan-choice
        .plan=${plan}
        .looked=${this.looked}
        .lengthStyle=${lengthStyle}
        @look=${(e: CustomEvent<number>) => (this.looked = e.detail)}
        @take=${(e: CustomEvent<number>) => this.take(plan, e.detail)}
      ></gw-plan-choice>
    `;
  }

  private readings(table: OpenTable, report: Report) {
    return html`<gw-gap-readings
      .report=${report}
      .wishes=${table.edited.wishes}
      .lengthStyle=${this.state.lengthStyle}
      @wishes=${this.read}
      @choose=${(e: CustomEvent<string>) => session.choose(e.detail)}
    ></gw-gap-readings>`;
  }

  /** What the rule says is at once planned with. */
  private readonly read = (event: CustomEvent<Partial<Wishes>>): void => {
    const wishes = this.table?.edited.wishes;
    if (!wishes) return;
    session.edit({ wishes: { ...wishes, ...event.detail } });
    this.work();
  };

  private readonly work = (): void => {
    this.looked = 0;
    void session.makePlan();
  };

  private take(plan: Plan, index: number): void {
    const wishes = this.table?.edited.wishes;
    const change = wishesToTake(plan.alternatives[index - 1]);
    if (!change || !wishes) return;
    session.edit({ wishes: { ...wishes, ...change } });
    this.work();
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-fillers-screen': FillersScreen;
  }
}
