import { css, html, nothing } from 'lit';
import { customElement } from 'lit/decorators.js';
import '../parts/next-step.js';
import { sharedStyle } from '../parts/shared-style.js';
import { addressOf } from '../state/place.js';
import { TableScreen } from '../state/screen-base.js';

/** Step 7: lay it, look, and photograph it again. */
@customElement('gw-check-screen')
export class CheckScreen extends TableScreen {
  static override styles = [
    sharedStyle,
    css`
      li {
        margin-bottom: 0.5rem;
      }
    `,
  ];

  override render() {
    const table = this.table;
    if (!table) return nothing;
    const fillers = table.plan.value?.fillers ?? [];
    return html`
      <h1 tabindex="-1">Check again</h1>
      <p>After the cuts, lay everything once more without fastening anything.</p>
      <ol>
        <li>Put each filler in its place${fillers.length > 0 ? html`: ${fillers.map((f) => f.id).join(', ')}` : nothing}. No joint should need force.</li>
        <li>Run a finger over each joint: rail heads level, no edge that catches.</li>
        <li>Push the longest car around by hand, above all past the narrow places at the table edge.</li>
        <li>
          Take new photos with the sheets on the table. As a table of its own they show each joint and each clearance as it now
          is; compare them with the plan of ${table.edited.name}.
        </li>
      </ol>
      <div class="row">
        <a class="button" href=${addressOf({ table: table.id, step: 'fillers' })}>Back to the plan</a>
        <a class="button" href="#/">All tables</a>
      </div>
    `;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-check-screen': CheckScreen;
  }
}
