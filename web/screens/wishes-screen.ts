import { html, nothing } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { Report } from '../../server/contract/report.js';
import type { Stock } from '../../server/contract/stock.js';
import type { Wishes } from '../../server/contract/wishes.js';
import { pieceAt, putDown, roomUpTo, stayToggled } from '../canvas/wish-by-touch.js';
import { dragged, wishHandles, wishMarks } from '../canvas/wish-marks.js';
import '../parts/next-step.js';
import { sharedStyle } from '../parts/shared-style.js';
import '../parts/stock-list.js';
import type { PickedPlace } from '../parts/table-picture.js';
import { touchHint, type WishTouch } from '../parts/touch-choice.js';
import '../parts/touch-choice.js';
import '../parts/wish-clearances.js';
import '../parts/wish-rules.js';
import '../parts/wish-stay.js';
import '../parts/wish-zones.js';
import type { OpenTable } from '../state/app-state.js';
import { addressOf } from '../state/place.js';
import { rememberedStock, rememberStock } from '../state/remembered.js';
import { TableScreen } from '../state/screen-base.js';
import { session } from '../state/session-instance.js';
import { footprints } from '../text/footprints.js';
import { terms } from '../text/terms.js';
import { measuredStyle } from './measured-style.js';
import { type PictureAdditions, tablePictureOf } from './table-picture-of.js';

/** Dragging snaps to this, millimetres: finer than anyone places a house. */
const dragStepMm = 1;

/** Step 4: what room is wished, what stands beside the track, what stays, and what is at hand. */
@customElement('gw-wishes-screen')
export class WishesScreen extends TableScreen {
  @state() private touch: WishTouch = 'look';
  private readonly lastStock = rememberedStock();

  static override styles = [sharedStyle, measuredStyle];

  override render() {
    const table = this.table;
    if (!table) return nothing;
    const report = table.report.value;
    return html`
      <h1 tabindex="-1">What you wish, and what you have</h1>
      <p>
        Nothing here is required: without a wish, every open gap gets its filler <span class="meaning">(${terms.filler})</span> and
        the track stays where it lies.
      </p>
      ${
        report
          ? this.wishes(table, report)
          : html`<p>Wishes along the table’s sides need a measured plan.</p>
              <p><a class="button" href=${addressOf({ table: table.id, step: 'photos' })}>Go to the photos</a></p>
              ${this.stock(table)}`
      }
      <gw-next-step .table=${table.id} step="wishes" .ready=${report !== null}></gw-next-step>
    `;
  }

  private wishes(table: OpenTable, report: Report) {
    const { lengthStyle } = this.state;
    const { wishes } = table.edited;
    return html`<div class="split">
      <section class="picture" aria-label="Picture">
        ${tablePictureOf(this.state, table, report, this.additions(report, wishes))}
        <gw-touch-choice .touch=${this.touch} @touch=${(e: CustomEvent<WishTouch>) => (this.touch = e.detail)}></gw-touch-choice>
      </section>
      <section aria-label="Wishes">
        <h2>Room along the table edge</h2>
        <p class="quiet">Rail-to-edge clearance: ${terms['rail-to-edge clearance']}. Drag the round handles on the picture, in from the side and along it, or type it here.</p>
        <gw-wish-clearances .report=${report} .wishes=${wishes} .lengthStyle=${lengthStyle} @wishes=${this.change}></gw-wish-clearances>
        <h2>Places to keep free</h2>
        <p class="quiet">For what stands beside the track. Put it down by a touch on the picture, drag it there; the second handle turns it.</p>
        <gw-wish-zones .report=${report} .wishes=${wishes} .lengthStyle=${lengthStyle} @wishes=${this.change}></gw-wish-zones>
        <h2>Pieces that stay</h2>
        <gw-wish-stay
          .report=${report}
          .wishes=${wishes}
          .lengthStyle=${lengthStyle}
          .chosen=${table.chosen}
          @wishes=${this.change}
          @choose=${(e: CustomEvent<string>) => session.choose(e.detail)}
        ></gw-wish-stay>
        <h2>How to choose the fillers</h2>
        <gw-wish-rules .report=${report} .wishes=${wishes} .lengthStyle=${lengthStyle} @wishes=${this.change}></gw-wish-rules>
        ${this.stock(table)}
      </section>
    </div>`;
  }

  private additions(report: Report, wishes: Wishes): PictureAdditions {
    return {
      extra: (frame) => wishMarks(report, wishes, frame),
      handles: (frame) => wishHandles(report, wishes, frame),
      aim: touchHint(this.touch),
      onPick: (place) => session.edit({ wishes: this.touched(report, wishes, place) }),
      onDrag: ({ handle, gesture, to }) =>
        session.edit({ wishes: dragged(report, wishes, handle, to, dragStepMm) }, gesture),
    };
  }

  private touched(report: Report, wishes: Wishes, { onTable, atRails }: PickedPlace): Wishes {
    const { touch } = this;
    if (touch === 'look') return wishes;
    if (touch === 'room') return roomUpTo(report, wishes, onTable, dragStepMm);
    if (touch !== 'stay') return putDown(wishes, footprints[touch], onTable);
    const at = pieceAt(report, atRails);
    return at ? stayToggled(wishes, at.run, at.piece) : wishes;
  }

  private stock(table: OpenTable) {
    return html`<h2>What is at hand</h2>
      <p class="quiet">Beside what already lies on the table.</p>
      ${this.nothingToCut(table) ? html`<p class="aside">There are open gaps but nothing to fill them from: add at least one donor or spare straight.</p>` : nothing}
      <gw-stock-list
        .stock=${table.edited.stock}
        .remembered=${this.lastStock}
        .lengthStyle=${this.state.lengthStyle}
        @stock=${(e: CustomEvent<Stock>) => {
          rememberStock(e.detail);
          session.edit({ stock: e.detail });
        }}
      ></gw-stock-list>`;
  }

  private nothingToCut(table: OpenTable): boolean {
    const { straights, donors } = table.edited.stock;
    const open = table.report.value?.joints.some((j) => j.open) ?? false;
    return open && table.edited.wishes.closeGaps && straights.length === 0 && donors.length === 0;
  }

  private readonly change = (event: CustomEvent<Partial<Wishes>>): void => {
    const wishes = this.table?.edited.wishes;
    if (wishes) session.edit({ wishes: { ...wishes, ...event.detail } });
  };
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-wishes-screen': WishesScreen;
  }
}
