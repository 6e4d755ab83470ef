import { css, html, LitElement, nothing, type PropertyValues } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Report } from '../../server/contract/report.js';
import type { Settings, SideCheck, TapeCheck } from '../../server/contract/tables.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { betweenMarkers, emptyTape, readTape, type TapeField, type TypedTape } from '../text/read-tape.js';
import { isSameTape, sideChoice, tapeDoubt, tapeLength, tapeName } from '../text/tape-words.js';
import { unitName } from '../text/written-length.js';
import { sharedStyle, wrongEntryStyle } from './shared-style.js';

type Tape = TapeCheck | SideCheck;

/** What this part is about in the settings. */
export type Tapes = Pick<Settings, 'tapeChecks' | 'sideChecks'>;

/** Lengths measured with a tape: between two markers, or of a whole table side. Fires `tapes` with all of them. */
@customElement('gw-tape-checks')
export class TapeChecks extends LitElement {
  @property({ attribute: false }) tapes: Tapes = { tapeChecks: [], sideChecks: [] };
  /** Names the sides of the table; null before anything is measured. */
  @property({ attribute: false }) report: Report | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;
  @state() private typed: TypedTape = emptyTape;
  @state() private wrong: Readonly<Partial<Record<TapeField, string>>> = {};
  private open = false;
  readonly label = 'Tape check';

  static override styles = [
    sharedStyle,
    wrongEntryStyle,
    css`
      li {
        border-top: 1px solid var(--line);
        padding: 0.25rem 0;
      }
      li > div {
        align-items: center;
        display: flex;
        gap: 1rem;
        justify-content: space-between;
      }
      form {
        display: grid;
        gap: 0.75rem;
        grid-template-columns: minmax(0, 1fr);
        justify-items: start;
        margin: 0.5rem 0 1rem;
      }
      form > * {
        max-width: 100%;
      }
      .row {
        align-items: start;
      }
      .row > div {
        max-width: 11rem;
      }
      input {
        width: 7rem;
      }
    `,
  ];

  /** Whether a field says that its entry cannot be taken. */
  get isWrong(): boolean {
    return Object.values(this.wrong).some((what) => what !== undefined);
  }

  /** Goes to the first field that is wrong. */
  override focus(): void {
    this.open = true;
    this.requestUpdate();
    void this.updateComplete.then(() =>
      this.renderRoot.querySelector<HTMLInputElement>('input[aria-invalid="true"]')?.focus(),
    );
  }

  protected override willUpdate(changed: PropertyValues<this>): void {
    // Opened for what is there; a person may close it, and it stays so.
    if (changed.has('tapes') && this.all.length > 0 && !this.hasUpdated) this.open = true;
    if (this.typed.what !== betweenMarkers && !this.sides.some((s) => s.name === this.typed.what))
      this.typed = { ...this.typed, what: betweenMarkers };
  }

  override render() {
    const { typed, sides } = this;
    return html`<details ?open=${this.open} @toggle=${(e: Event) => (this.open = (e.target as HTMLDetailsElement).open)}>
      <summary>Tape check (better lengths on a long table)</summary>
      <p class="quiet">Measure with a tape from the middle of one marker to the middle of another, or along a whole side of the table from corner to corner, and type it here.</p>
      ${this.all.length > 0 ? html`<ul class="plain">${this.all.map((tape) => this.row(tape))}</ul>` : nothing}
      <form novalidate @submit=${this.add}>
        <label class="field"
          >What the tape was laid over
          <select name="what" @change=${(e: Event) => this.type('what', (e.target as HTMLSelectElement).value)}>
            <option value=${betweenMarkers} ?selected=${typed.what === betweenMarkers}>Two markers, middle to middle</option>
            ${sides.map(
              (s) =>
                html`<option value=${s.name} ?selected=${typed.what === s.name}>${sideChoice(s, this.lengthStyle)}</option>`,
            )}
          </select></label
        >
        ${sides.length === 0 ? html`<p class="quiet">Sides of the table can be chosen here too once the photos are measured: the measured plan names them A, B, C and so on.</p>` : nothing}
        <div class="row">
          ${
            typed.what === betweenMarkers
              ? html`${this.field('from', 'From marker', 'numeric')}${this.field('to', 'To marker', 'numeric')}`
              : nothing
          }
          ${this.field('length', 'Length', 'length')}${this.field('within', 'Give or take', 'length')}
        </div>
        <p class="quiet">“Give or take” may stay empty: then it is what a common tape measure may be wrong by.</p>
        <button>Add</button>
      </form>
    </details>`;
  }

  private get all(): readonly Tape[] {
    return [...this.tapes.tapeChecks, ...this.tapes.sideChecks];
  }

  private get sides(): Report['table']['sides'] {
    return this.report?.table.sides.filter((s) => s.seen !== false) ?? [];
  }

  private row(tape: Tape) {
    const name = tapeName(tape);
    const doubt = tapeDoubt(tape, this.report, this.lengthStyle);
    return html`<li>
      <div>
        <span>${name}: <span class="number">${tapeLength(tape, this.lengthStyle)}</span></span>
        <button class="small" aria-label="Remove ${name}" @click=${() => this.tell(this.all.filter((t) => t !== tape))}>Remove</button>
      </div>
      ${doubt ? html`<p class="wrong">${doubt}</p>` : nothing}
    </li>`;
  }

  private field(name: TapeField, label: string, kind: 'numeric' | 'length') {
    const { unit } = this.lengthStyle;
    const wrong = this.wrong[name];
    const mode = kind === 'numeric' ? 'numeric' : unit === 'mm' ? 'decimal' : 'text';
    return html`<div>
      <label class="field"
        >${kind === 'length' ? html`<span>${label}, <span aria-hidden="true">${unit}</span><span class="only-read">${unitName[unit]}</span></span>` : label}
        <input
          name=${name}
          inputmode=${mode}
          autocomplete="off"
          .value=${this.typed[name]}
          aria-invalid=${wrong ? 'true' : 'false'}
          aria-describedby=${wrong ? `wrong-${name}` : nothing}
          @input=${(e: Event) => this.type(name, (e.target as HTMLInputElement).value)}
      /></label>
      ${wrong ? html`<p class="wrong" id="wrong-${name}">${wrong}</p>` : nothing}
    </div>`;
  }

  private type(name: keyof TypedTape, text: string): void {
    this.typed = { ...this.typed, [name]: text };
    this.wrong = name === 'what' ? {} : { ...this.wrong, [name]: undefined };
  }

  /** Takes the tape in; a new one over the same takes the place of the old. Else each field says what it wants. */
  private add(event: Event): void {
    event.preventDefault();
    const read = readTape(this.typed, this.lengthStyle.unit);
    if (read.ok) {
      this.typed = { ...emptyTape, what: this.typed.what };
      this.wrong = {};
      this.tell([...this.all.filter((t) => !isSameTape(t, read.tape)), read.tape]);
      return;
    }
    this.wrong = read.wrong;
    this.focus();
  }

  private tell(all: readonly Tape[]): void {
    const tapeChecks = all.filter((t): t is TapeCheck => !('side' in t));
    const sideChecks = all.filter((t): t is SideCheck => 'side' in t);
    this.dispatchEvent(new CustomEvent<Tapes>('tapes', { detail: { tapeChecks, sideChecks } }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-tape-checks': TapeChecks;
  }
}
