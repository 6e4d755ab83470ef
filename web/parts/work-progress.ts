import { css, html, LitElement, nothing, type PropertyValues } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { stageLabels, stageNames } from '../../server/contract/stages.js';
import type { WorkState } from '../../server/contract/tables.js';
import { troubleOf } from '../api/trouble.js';
import { sharedStyle } from './shared-style.js';
import './trouble-note.js';

/**
 * How the measuring goes: each real stage, which photo, and a cancel. Fires `cancel`. What is put into it is shown once
 * the measuring that was watched here has ended well.
 */
@customElement('gw-work-progress')
export class WorkProgress extends LitElement {
  @property({ attribute: false }) work: WorkState = { status: 'none' };
  /** One line only, beside other things. */
  @property({ type: Boolean }) brief = false;
  /** What was measured is no longer what would be measured now: then the end is not told. */
  @property({ type: Boolean }) outdated = false;
  /** Name of a photo by its id or file, for the line that says which one is worked on. */
  @property({ attribute: false }) nameOf: (photo: string) => string = (photo) => photo;

  /** It was seen going on, and then was done. */
  @state() private ended = false;

  static override styles = [
    sharedStyle,
    css`
      :host {
        scroll-margin-top: 4.5rem;
      }
      /* The screen around it draws an outline about everything that has the focus. */
      :host(:focus) {
        outline: none !important;
      }
      .work {
        background: var(--sheet);
        border: 2px solid var(--ink);
        margin: 1rem 0;
        padding: 1rem;
      }
      h2 {
        margin-top: 0;
      }
      progress {
        accent-color: var(--accent);
        display: block;
        height: 1.25rem;
        margin-bottom: 0.75rem;
        width: 100%;
      }
      li {
        color: var(--pencil);
        padding-left: 1.8rem;
        position: relative;
      }
      li::before {
        content: '·';
        left: 0.5rem;
        position: absolute;
      }
      li.past::before {
        content: '✓';
      }
      li.now {
        color: var(--ink);
        font-weight: 700;
      }
      li.now::before {
        content: '→';
      }
      ol + .only-read + button {
        margin-top: 0.75rem;
      }
    `,
  ];

  /** Comes into sight and takes the focus, from wherever measuring was asked for. */
  async show(): Promise<void> {
    await this.updateComplete;
    const isCalm = matchMedia('(prefers-reduced-motion: reduce)').matches;
    this.tabIndex = -1;
    this.focus({ preventScroll: true });
    this.scrollIntoView({ block: 'start', behavior: isCalm ? 'instant' : 'smooth' });
  }

  protected override willUpdate(changed: PropertyValues<this>): void {
    const before = changed.get('work')?.status;
    if (before === undefined) return;
    this.ended = this.work.status === 'done' && (this.ended || before === 'queued' || before === 'running');
  }

  override render() {
    const work = this.work;
    switch (work.status) {
      case 'queued':
        return html`<div class="work">
          <p role="status">${work.ahead > 0 ? `Waiting: ${work.ahead} other ${work.ahead === 1 ? 'table' : 'tables'} first.` : 'Starting…'}</p>
          ${this.cancelButton()}
        </div>`;
      case 'running':
        return this.running(work.progress.stage, work.progress.photo, work.progress.ratio);
      case 'failed':
        return html`<gw-trouble-note .trouble=${troubleOf(work.problem)}></gw-trouble-note>`;
      case 'cancelled':
        return html`<p class="aside" role="status">Measuring was stopped. The photos are still here.</p>`;
      case 'done':
        return this.ended && !this.brief && !this.outdated
          ? html`<div class="aside" role="status"><slot></slot></div>`
          : nothing;
      default:
        return nothing;
    }
  }

  private running(stage: (typeof stageNames)[number], photo: string | null, ratio: number) {
    if (this.brief) return this.briefly(stage, ratio);
    const at = stageNames.indexOf(stage);
    return html`<div class="work">
      <h2 id="going">Measuring</h2>
      <progress max="1" .value=${ratio} aria-labelledby="going"></progress>
      <ol class="plain">
        ${stageNames.map(
          (name, i) =>
            html`<li class=${i < at ? 'past' : i === at ? 'now' : ''}>
              ${stageLabels[name]}${i === at && photo ? `: ${this.nameOf(photo)}` : ''}${i < at ? html`<span class="only-read">, done</span>` : nothing}
            </li>`,
        )}
      </ol>
      <p class="only-read" role="status">${stageLabels[stage]}</p>
      ${this.cancelButton()}
    </div>`;
  }

  private briefly(stage: (typeof stageNames)[number], ratio: number) {
    return html`<div class="work">
      <p id="going" role="status">Measuring again. ${stageLabels[stage]}.</p>
      <progress max="1" .value=${ratio} aria-labelledby="going"></progress>
      ${this.cancelButton()}
    </div>`;
  }

  private cancelButton() {
    return html`<button @click=${() => this.dispatchEvent(new CustomEvent('cancel'))}>Stop measuring</button>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-work-progress': WorkProgress;
  }
}
