import { css, html, LitElement, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { checkAdvice } from '../../server/contract/check-advice.js';
import { type CheckRow, checkRows, type Verdict } from '../../server/contract/check-rows.js';
import type { Plan } from '../../server/contract/plan.js';
import type { Report } from '../../server/contract/report.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import { measuredThings } from '../canvas/measured-things.js';
import { formatEstimate, formatLength } from '../text/lengths.js';
import { sharedStyle } from './shared-style.js';

/** Words and signs, so that colour is not needed to tell them apart. */
const verdicts: Record<Verdict, string> = {
  good: '✓ good',
  off: '✗ off',
  'too close to call': '? too close to call',
  'not measured': '– not measured',
};

const columns = ['Where', 'Planned', 'Measured', 'Verdict'];

const order: Record<Verdict, number> = { off: 0, 'too close to call': 1, 'not measured': 2, good: 3 };

/** Planned against measured, joint by joint and side by side; what is off stands first. Fires `choose` with a thing. */
@customElement('gw-check-table')
export class CheckTable extends LitElement {
  @property({ attribute: false }) planned: Plan | null = null;
  @property({ attribute: false }) report: Report | null = null;
  @property({ type: Number }) jointAllowanceMm = 0;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  private advice: ReturnType<typeof checkAdvice> | null = null;

  static override styles = [
    sharedStyle,
    css`
      :host {
        container-type: inline-size;
      }
      .scroll {
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
        overflow-wrap: normal;
        padding: 0.3rem 0.75rem 0.3rem 0;
        text-align: left;
      }
      tr:has(+ tr) > * {
        border-bottom: 0;
      }
      .off td,
      .off th {
        background: var(--wash);
        font-weight: 700;
      }
      th {
        white-space: nowrap;
      }
      .off .cure,
      .cure {
        font-weight: 400;
        padding-left: 0.6rem;
        padding-top: 0;
      }
      button {
        min-height: 2.5rem;
        padding: 0 0.6rem;
      }
      /* Where four columns have no room, as on a phone: the place and its verdict, below them the two lengths. */
      @container (max-width: 29rem) {
        table,
        tbody {
          display: block;
        }
        thead {
          clip-path: inset(50%);
          height: 1px;
          overflow: hidden;
          position: absolute;
          width: 1px;
        }
        tr {
          display: grid;
          gap: 0 0.75rem;
          grid-template-columns: minmax(0, 2fr) minmax(0, 3fr);
        }
        tbody {
          border-bottom: 1px solid var(--line);
          padding: 0.3rem 0.4rem;
        }
        tbody.off {
          background: var(--wash);
        }
        tbody tr :is(th, td) {
          background: none;
          border-bottom: 0;
          padding: 0.1rem 0;
          white-space: normal;
        }
        .verdict {
          align-self: center;
          grid-column: 2;
          grid-row: 1;
        }
        [data-label]::before {
          color: var(--pencil);
          content: attr(data-label) ' ';
          display: block;
          font-size: 0.85rem;
          font-weight: 400;
        }
        .cure {
          grid-column: 1 / -1;
        }
      }
    `,
  ];

  override render() {
    const { planned, report } = this;
    if (!planned || !report) return nothing;
    const found = checkRows(planned, report, this.jointAllowanceMm);
    this.advice = checkAdvice(planned, report, found, this.lengthStyle);
    const rows = found.sort((a, b) => order[a.verdict] - order[b.verdict]);
    const off = rows.filter((row) => row.verdict === 'off');
    const good = rows.filter((row) => row.verdict === 'good');
    const doubtful = rows.filter((row) => row.verdict !== 'good');
    const { mismatch } = this.advice;
    return html`
      ${mismatch === null ? nothing : html`<div class="aside" role="note">${mismatch}</div>`}
      <p role="status">
        ${
          off.length === 0
            ? html`<b>Nothing is off.</b> ${good.length} of ${rows.length} are surely good.`
            : html`<b>${off.length} of ${rows.length} ${off.length === 1 ? 'is' : 'are'} off.</b> Start with these.`
        }
      </p>
      ${this.rows(report, doubtful, 'Planned and measured: what needs a look')}
      <details ?open=${doubtful.length === 0}>
        <summary>Good (${good.length})</summary>
        ${this.rows(report, good, 'Planned and measured: what is good')}
      </details>
    `;
  }

  private rows(report: Report, rows: readonly CheckRow[], name: string) {
    if (rows.length === 0) return nothing;
    return html`<div class="scroll" tabindex="0" role="region" aria-label=${name}>
      <table role="table">
        <thead role="rowgroup">
          <tr role="row">
            ${columns.map((column) => html`<th scope="col" role="columnheader">${column}</th>`)}
          </tr>
        </thead>
        ${rows.map((row) => this.row(report, row))}
      </table>
    </div>`;
  }

  private row(report: Report, row: CheckRow) {
    const thing = thingOf(report, row);
    const name = thing?.name ?? row.name;
    const cure = this.advice?.cures.get(row);
    // What helps has a row of its own: beside the numbers a phone has no room for a sentence.
    // Roles are said, as rows that are laid out otherwise would no longer be read as those of a table.
    return html`<tbody role="rowgroup" class=${row.verdict === 'off' ? 'off' : ''}>
      <tr role="row">
        <th scope="row" role="rowheader">
          ${thing ? html`<button aria-label="Show ${name} on the picture" @click=${() => this.show(thing.id)}>${name}</button>` : name}
        </th>
        <td role="cell" data-label="Planned">${formatLength(row.plannedMm, this.lengthStyle)}</td>
        <td role="cell" data-label="Measured">${row.measured ? formatEstimate(row.measured, this.lengthStyle) : '–'}</td>
        <td role="cell" class="verdict">${verdicts[row.verdict]}</td>
      </tr>
      ${cure ? html`<tr role="row"><td role="cell" class="cure" colspan="4">${cure}</td></tr>` : nothing}
    </tbody>`;
  }

  private show(id: string): void {
    this.dispatchEvent(new CustomEvent<string>('choose', { detail: id }));
  }
}

function thingOf(report: Report, row: CheckRow) {
  if (!row.at) return null;
  const [x, y] = row.at;
  const kinds = row.kind === 'joint' ? ['gap', 'joint'] : [row.kind];
  return measuredThings(report).find((t) => kinds.includes(t.kind) && t.at[0] === x && t.at[1] === y) ?? null;
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-check-table': CheckTable;
  }
}
