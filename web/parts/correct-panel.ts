import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Correction, CorrectionOutcome } from '../../server/contract/corrections.js';
import type { Report } from '../../server/contract/report.js';
import type { Settings } from '../../server/contract/tables.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { fewestTouches } from '../canvas/correct-by-touch.js';
import type { Change } from '../canvas/report-changes.js';
import { type CorrectionTool, correctionTexts, toolGroups, toolTexts } from '../text/correction-words.js';
import { formatEstimate, formatLength } from '../text/lengths.js';
import './measure-settings.js';
import { sharedStyle } from './shared-style.js';

/**
 * The tools of correction, the corrections made, and what the last one changed. Fires `tool` with a CorrectionTool or
 * null, `done`, `back`, `remove` and `show` with a correction's id, `settings` with new Settings, `leave`.
 */
@customElement('gw-correct-panel')
export class CorrectPanel extends LitElement {
  @property() tool: CorrectionTool | null = null;
  /** How many places are touched so far. */
  @property({ type: Number }) touched = 0;
  @property({ attribute: false }) list: readonly Correction[] = [];
  /** What the measurement shown made of them; null when there were none. */
  @property({ attribute: false }) outcomes: readonly CorrectionOutcome[] | null = null;
  @property({ attribute: false }) changes: readonly Change[] | null = null;
  @property({ attribute: false }) settings: Settings | null = null;
  /** The measurement shown: settings speak of its sides. */
  @property({ attribute: false }) report: Report | null = null;
  @property({ attribute: false }) nameOf: (photo: string) => string | null = () => null;
  @property() chosen: string | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  static override styles = [
    sharedStyle,
    css`
      h2 {
        margin-top: 0.5rem;
      }
      .hint {
        border-left: 4px solid var(--accent);
        margin: 0.75rem 0;
        padding: 0.25rem 0 0.25rem 0.9rem;
      }
      .made .row {
        flex: none;
        flex-wrap: nowrap;
        gap: 0.4rem;
      }
      .made li {
        align-items: center;
        border-top: 1px solid var(--line);
        display: flex;
        gap: 0.75rem;
        justify-content: space-between;
        padding: 0.3rem 0;
      }
      select {
        scroll-margin-top: calc(var(--covered-top, 0px) + 4rem);
        width: 100%;
      }
      td,
      th {
        border-bottom: 1px solid var(--line);
        font-variant-numeric: tabular-nums;
        padding: 0.3rem 0.75rem 0.3rem 0;
        text-align: left;
      }
      table {
        border-collapse: collapse;
        margin-bottom: 1.25rem;
      }
    `,
  ];

  /** Puts the focus on the first tool. */
  focusFirst(): void {
    void this.updateComplete.then(() => this.renderRoot.querySelector('select')?.focus({ preventScroll: true }));
  }

  /** Whether a field of the settings has an entry that cannot be taken. */
  get isWrong(): boolean {
    return (this.renderRoot.querySelector('gw-measure-settings')?.wrongField ?? null) !== null;
  }

  override render() {
    return html`
      <h2>Correct by hand</h2>
      <label class="field"
        >What is wrong?
        <select @change=${(e: Event) => this.tell('tool', (e.target as HTMLSelectElement).value || null)}>
          <option value="" ?selected=${this.tool === null}>Choose …</option>
          ${toolGroups.map(
            ({ title, tools }) => html`<optgroup label=${title}>
              ${tools.map((tool) => html`<option value=${tool} ?selected=${tool === this.tool}>${toolTexts[tool].name}</option>`)}
            </optgroup>`,
          )}
        </select></label
      >
      ${this.hint()}
      <slot></slot>
      ${this.changed()} ${this.made()}
      <details>
        <summary>Tape check, square corners, track, marker</summary>
        <gw-measure-settings
          .settings=${this.settings}
          .report=${this.report}
          .lengthStyle=${this.lengthStyle}
          @settings=${(e: CustomEvent<Settings>) => this.tell('settings', e.detail)}
        ></gw-measure-settings>
      </details>
      <button @click=${() => this.tell('leave', null)}>Back to what was measured</button>
    `;
  }

  private hint() {
    const { tool, touched } = this;
    if (!tool) {
      return html`<p class="hint">A place pointed at is moved onto the nearest rail or edge that the photo shows, so near is enough.</p>`;
    }
    const { hint, touches } = toolTexts[tool];
    const left = fewestTouches(tool) - touched;
    const count =
      touched === 0
        ? ''
        : touches === null
          ? touched === 1
            ? 'One place so far.'
            : `${touched} places so far.`
          : `One more place.`;
    return html`<div class="hint">
      <p role="status">${hint} ${count}</p>
      ${touched === 0 ? html`<p class="quiet">Rest a finger on the picture to see the place magnified. ${tool === 'corner-moved' ? 'A corner can be dragged too.' : ''}</p>` : nothing}
      <div class="row">
        ${touches === null ? html`<button class="small main" ?disabled=${left > 0} @click=${() => this.tell('done', null)}>Done</button>` : nothing}
        ${touched > 0 ? html`<button class="small" @click=${() => this.tell('back', null)}>Take back the last place</button>` : nothing}
      </div>
    </div>`;
  }

  private made() {
    if (this.list.length === 0) return html`<p class="quiet">Nothing is corrected yet.</p>`;
    return html`<h3>Corrections made</h3>
      <ul class="plain made">
        ${this.list.map((c, i) => {
          const id = `correction:${c.id}`;
          const name = `${i + 1}. ${correctionTexts[c.kind]}`;
          return html`<li>
            <span>${name}<br /><span class="quiet">${this.said(c)}</span></span>
            <span class="row">
              <button class="small" aria-pressed=${id === this.chosen ? 'true' : 'false'} aria-label="Show ${name}" @click=${() => this.tell('show', id)}>Show</button>
              <button class="small" aria-label="Remove ${name}" @click=${() => this.tell('remove', c.id)}>Remove</button>
            </span>
          </li>`;
        })}
      </ul>`;
  }

  private said(c: Correction): string {
    const photo = this.nameOf(c.photo);
    if (photo === null) return 'on a photo that is no longer here';
    const outcome = this.outcomes?.find((o) => o.id === c.id);
    if (!outcome) return `${photo}; not measured yet`;
    if (!outcome.used) return `${photo}; nothing there fits, so it was left out`;
    return outcome.movedPx === null
      ? `${photo}; taken in`
      : `${photo}; taken in, moved ${outcome.movedPx.toFixed(1)} pixels onto the picture`;
  }

  private changed() {
    const { lengthStyle } = this;
    // What is written alike has not changed for anybody who cuts.
    const written = (e: Change['before']): string => (e ? formatLength(e.value, lengthStyle) : '');
    const changes = this.changes?.filter((c) => written(c.before) !== written(c.after));
    if (!changes) return nothing;
    if (changes.length === 0) return html`<p role="status">Measured again: nothing that matters has changed.</p>`;
    const write = (e: Change['before'], none: string) => (e ? formatEstimate(e, lengthStyle) : none);
    return html`<h3>What it changed</h3>
      <table>
        <thead>
          <tr><th scope="col">What</th><th scope="col">Before</th><th scope="col">Now</th></tr>
        </thead>
        <tbody>
          ${changes.map((c) => html`<tr><th scope="row">${c.name}</th><td>${write(c.before, 'not there')}</td><td>${write(c.after, 'gone')}</td></tr>`)}
        </tbody>
      </table>`;
  }

  private tell(what: string, detail: unknown): void {
    this.dispatchEvent(new CustomEvent(what, { detail }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-correct-panel': CorrectPanel;
  }
}
