import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { addressOf } from '../state/place.js';
import { type StepId, stepIds, stepTexts } from '../text/steps.js';
import { sharedStyle } from './shared-style.js';

/** The one path through the tool, drawn as a folding rule: always says where you are and what comes next. */
@customElement('gw-step-path')
export class StepPath extends LitElement {
  @property() table = '';
  @property() step: StepId = 'photos';
  /** Steps that have what they need. */
  @property({ attribute: false }) done: ReadonlySet<StepId> = new Set();

  static override styles = [
    sharedStyle,
    css`
      /* Where one is stays in sight; what is next is told once, above it on a small screen. */
      :host {
        background: var(--paper);
        position: sticky;
        top: 0;
        z-index: 3;
      }
      @media (max-height: 34rem) {
        :host {
          position: static;
        }
      }
      nav {
        border-bottom: 2px solid var(--ink);
      }
      ol {
        display: grid;
        grid-template-columns: repeat(7, minmax(0, 1fr));
        margin: 0;
        padding: 0;
        list-style: none;
      }
      a {
        align-items: center;
        background: linear-gradient(var(--ink), var(--ink)) left bottom / 2px 0.7rem no-repeat;
        color: var(--ink);
        display: flex;
        flex-direction: column;
        justify-content: center;
        min-height: 3.25rem;
        padding: 0.2rem 0.1rem 0.6rem;
        text-align: center;
        text-decoration: none;
      }
      a:focus-visible {
        outline-offset: -3px;
      }
      .figure {
        font-family: var(--hand);
        font-size: 1.25rem;
        line-height: 1.2;
      }
      .name {
        font-size: 0.85rem;
        line-height: 1.2;
      }
      .done .figure::after {
        content: ' ✓';
        font-size: 0.85rem;
      }
      [aria-current] {
        background-color: var(--accent);
        color: var(--on-accent);
        font-weight: 700;
      }
      .where {
        font-size: 0.95rem;
        height: 2.25rem;
        margin: 0;
        overflow: hidden;
        padding: 0.3rem 0;
        text-overflow: ellipsis;
        white-space: nowrap;
      }
      @media (max-width: 47.9rem) {
        :host {
          top: -2.25rem;
        }
        ol {
          grid-template-columns: var(--columns);
        }
        [aria-current] .name {
          font-size: 0.8rem;
          white-space: nowrap;
        }
        a:not([aria-current]) .name {
          clip-path: inset(50%);
          height: 1px;
          overflow: hidden;
          position: absolute;
          width: 1px;
        }
      }
      @media (min-width: 48rem) {
        .where {
          display: none;
        }
      }
    `,
  ];

  /** The step one is at has room for its name. Set by script: the security policy refuses style attributes. */
  protected override updated(): void {
    const columns = stepIds.map((id) => (id === this.step ? 'minmax(7rem, 2.4fr)' : 'minmax(0, 1fr)'));
    this.style.setProperty('--columns', columns.join(' '));
  }

  override render() {
    const at = stepIds.indexOf(this.step);
    const next = stepIds[at + 1];
    return html`
      <nav aria-label="Steps">
        <p class="where">
          Step ${at + 1} of ${stepIds.length}${next ? html`, then <b>${stepTexts[next].name.toLowerCase()}</b>` : ''}
        </p>
        <ol>
          ${stepIds.map(
            (id, i) => html`<li>
              <a
                href=${addressOf({ table: this.table, step: id })}
                class=${this.done.has(id) ? 'done' : ''}
                aria-current=${id === this.step ? 'step' : nothing}
                ><span class="figure">${i + 1}</span><span class="name">${stepTexts[id].name}</span>
                ${this.done.has(id) ? html`<span class="only-read">done</span>` : ''}</a
              >
            </li>`,
          )}
        </ol>
      </nav>
    `;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-step-path': StepPath;
  }
}
