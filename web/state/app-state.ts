import type { CorrectionOf } from '../../server/contract/corrections.js';
import type { Plan } from '../../server/contract/plan.js';
import type { PlanView } from '../../server/contract/plan-view.js';
import type { Report } from '../../server/contract/report.js';
import type { TableDocument, WorkState } from '../../server/contract/tables.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';
import type { TableEdits, TableSummary } from '../api/tables-api.js';
import type { Trouble } from '../api/trouble.js';
import type { CorrectionTool } from '../text/correction-words.js';
import type { StepId } from '../text/steps.js';

/** Something that is fetched or computed elsewhere. The last good value stays visible while a new one is on its way. */
export interface Loadable<T> {
  readonly status: 'none' | 'loading' | 'ready' | 'failed';
  readonly value: T | null;
  readonly trouble: Trouble | null;
}

export const nothingYet: Loadable<never> = { status: 'none', value: null, trouble: null };

/** Where the person is: the list of tables, or a step of one table. */
export interface Place {
  readonly table: string | null;
  readonly step: StepId | null;
}

/** A photo on its way to the server. It stays here, file and all, until the server has it. */
export interface Upload {
  readonly id: string;
  readonly name: string;
  readonly bytes: number;
  readonly status: 'waiting' | 'sending' | 'failed' | 'refused';
  /** Share sent, 0…1. */
  readonly ratio: number;
  readonly trouble: Trouble | null;
}

/** The parts of a table document that a person edits, kept apart so that they can be undone and saved as a whole. */
export type Edited = Required<TableEdits>;

/** What a person is about to correct on a photo. */
export interface CorrectingState {
  readonly tool: CorrectionTool | null;
  /** Places touched so far, photo pixels. */
  readonly touched: readonly [number, number][];
  /** The corners while one of them is being dragged. */
  readonly corners: CorrectionOf<'table-outline'>['corners'] | null;
  /** The picture that was shown before, to which one comes back. */
  readonly before: string;
}

export interface OpenTable {
  readonly id: string;
  /** As the server last sent it. */
  readonly stored: TableDocument;
  /** As this page shows it: the stored one with unsaved edits. */
  readonly edited: Edited;
  readonly past: readonly Edited[];
  readonly future: readonly Edited[];
  /** The drag that the last edit belongs to: all of its edits are undone at once. */
  readonly gesture: string | null;
  readonly saving: 'saved' | 'unsaved' | 'saving' | 'failed';
  /**
   * Set while a change of this page stands against another device's, which is the one `stored`, until the person decides:
   * what both started from.
   */
  readonly conflict: Edited | null;
  readonly work: WorkState;
  readonly measured: boolean;
  readonly stale: boolean;
  readonly uploads: readonly Upload[];
  readonly report: Loadable<Report>;
  readonly planView: Loadable<PlanView>;
  readonly plan: Loadable<Plan>;
  /** The plan that the last measurement is checked against: the one made before it. */
  readonly planned: Loadable<Plan>;
  /** Which measurement the plan shown was made from, as `measuredInputs` of the table names it; null for an earlier one. */
  readonly planFrom: string | null;
  /** Changed wishes or stock make the plan one of before; a later measurement does too, see `whyOutdated`. */
  readonly planOutdated: boolean;
  /** What the server said of the stored plan when the table was opened. */
  readonly planCurrent: boolean;
  /** Whether the measurement shows photos that came after the plan before was made. */
  readonly photosSincePlanned: boolean;
  /** Ids of the photos from before the cuts, as the server last said. */
  readonly beforeCuts: readonly string[];
  /** The measured thing chosen in the list or on the picture. */
  readonly chosen: string | null;
  /** 'plan', 'drawing' or a photo id. */
  readonly picture: string;
  /** Null while nothing is being corrected by hand. */
  readonly correcting: CorrectingState | null;
  /** The measurement before the one shown, as far as it is known by now. */
  readonly reportBefore: Report | null;
}

export interface AppState {
  readonly place: Place;
  readonly tables: Loadable<readonly TableSummary[]>;
  readonly table: OpenTable | null;
  /** Why a table could not be opened. */
  readonly tableTrouble: Trouble | null;
  readonly connected: boolean;
  readonly lengthStyle: LengthStyle;
  /** A short message for everybody, read out by screen readers. */
  readonly notice: { readonly text: string; readonly trouble: Trouble | null } | null;
}

export const startState: AppState = {
  place: { table: null, step: null },
  tables: nothingYet,
  table: null,
  tableTrouble: null,
  connected: true,
  lengthStyle: defaultLengthStyle,
  notice: null,
};

export function editedOf(table: TableDocument): Edited {
  return {
    name: table.name,
    settings: table.settings,
    wishes: table.wishes,
    stock: table.stock,
    corrections: table.corrections,
  };
}
