import { html, type TemplateResult } from 'lit';
import type { RuledGap } from '../../server/contract/gap-readings.js';
import type { Report } from '../../server/contract/report.js';
import type { Mark } from '../canvas/marks.js';
import type { PictureFrame } from '../canvas/picture-frame.js';
import type { Handle } from '../canvas/wish-marks.js';
import { noRuled, type PickedPlace, type TableDrag } from '../parts/table-picture.js';
import '../parts/table-picture.js';
import type { AppState, OpenTable } from '../state/app-state.js';
import { session } from '../state/session-instance.js';

/** What a screen adds to the picture of its table. */
export interface PictureAdditions {
  readonly extra?: (frame: PictureFrame) => readonly Mark[];
  readonly handles?: (frame: PictureFrame) => readonly Handle[];
  /** What a tap is to point at; then `onPick` gets the place, and nothing is chosen. */
  readonly aim?: string;
  readonly onlyPhotos?: boolean;
  readonly onPick?: (place: PickedPlace) => void;
  readonly onDrag?: (drag: TableDrag) => void;
  readonly onDrop?: (handle: string) => void;
  readonly onChoose?: (thing: string | null) => void;
  /** Gaps in which a rule was laid. */
  readonly byRule?: readonly RuledGap[];
  /** Whether the table is tinted by how sure a clearance is. */
  readonly covered?: boolean;
}

const nothingMore = (): readonly never[] => [];

/** The measured table on the picture that the person chose, the same on every screen. */
export function tablePictureOf(
  { lengthStyle }: AppState,
  table: OpenTable,
  report: Report,
  more: PictureAdditions = {},
): TemplateResult {
  const choose = more.onChoose ?? ((thing: string | null) => session.choose(thing));
  return html`<gw-table-picture
    .table=${table.id}
    .report=${report}
    .planView=${table.planView.value}
    .photos=${table.stored.photos}
    .picture=${table.picture}
    .stamp=${table.stored.measuredInputs ?? ''}
    .chosen=${table.chosen}
    .lengthStyle=${lengthStyle}
    .extra=${more.extra ?? nothingMore}
    .handles=${more.handles ?? nothingMore}
    .aim=${more.aim ?? ''}
    .onlyPhotos=${more.onlyPhotos ?? false}
    .covered=${more.covered ?? false}
    .byRule=${more.byRule ?? noRuled}
    @choose=${(e: CustomEvent<string | null>) => choose(e.detail)}
    @picture=${(e: CustomEvent<string>) => session.showPicture(e.detail)}
    @pick=${(e: CustomEvent<PickedPlace>) => more.onPick?.(e.detail)}
    @handle-drag=${(e: CustomEvent<TableDrag>) => more.onDrag?.(e.detail)}
    @handle-drop=${(e: CustomEvent<string>) => more.onDrop?.(e.detail)}
  ></gw-table-picture>`;
}
