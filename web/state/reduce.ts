import { assertNever } from '../../server/base/assert.js';
import type { TableDocument, WorkState } from '../../server/contract/tables.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import type { OpenedTable, TableSummary } from '../api/tables-api.js';
import type { Trouble } from '../api/trouble.js';
import {
  type AppState,
  type Edited,
  editedOf,
  type Loadable,
  nothingYet,
  type OpenTable,
  type Place,
  type Upload,
} from './app-state.js';
import { reduceTable } from './reduce-table.js';

/** Everything that can happen to the page's state, apart from what concerns only the open table. */
export type Action =
  | { readonly type: 'went'; readonly place: Place }
  | { readonly type: 'tables'; readonly tables: Loadable<readonly TableSummary[]> }
  | { readonly type: 'opened'; readonly opened: OpenedTable }
  | { readonly type: 'not-opened'; readonly trouble: Trouble }
  | { readonly type: 'connection'; readonly open: boolean }
  | { readonly type: 'length-style'; readonly style: LengthStyle }
  | { readonly type: 'notice'; readonly text: string; readonly trouble?: Trouble }
  | { readonly type: 'notice-read' }
  | TableAction;

/** What can happen to the open table. `table` says to which: an answer that comes late must not land in another. */
export type TableAction =
  | { readonly type: 'edit'; readonly change: Partial<Edited>; readonly gesture?: string }
  | { readonly type: 'undo' }
  | { readonly type: 'redo' }
  | { readonly type: 'saving'; readonly status: OpenTable['saving'] }
  | {
      readonly type: 'stored';
      readonly document: TableDocument;
      /** The edits that this page sent, when the document is the answer to them. */
      readonly sent?: Edited;
      readonly takeTheirs?: boolean;
      readonly keepMine?: boolean;
    }
  | { readonly type: 'work'; readonly table: string; readonly work: WorkState }
  | { readonly type: 'loaded'; readonly table: string; readonly part: Partial<OpenTable> }
  | { readonly type: 'upload'; readonly table: string; readonly upload: Upload }
  | { readonly type: 'upload-gone'; readonly table: string; readonly id: string }
  | { readonly type: 'choose'; readonly thing: string | null }
  | { readonly type: 'show-picture'; readonly picture: string };

/** The next state. Pure: effects live in the session. */
export function reduce(state: AppState, action: Action): AppState {
  switch (action.type) {
    case 'went':
      return {
        ...state,
        place: action.place,
        table: state.table && state.table.id === action.place.table ? state.table : null,
        tableTrouble: action.place.table === state.place.table ? state.tableTrouble : null,
      };
    case 'tables':
      return { ...state, tables: action.tables };
    case 'opened':
      return { ...state, tableTrouble: null, table: openTable(action.opened, state.table) };
    case 'not-opened':
      return { ...state, tableTrouble: action.trouble };
    case 'connection':
      return state.connected === action.open ? state : { ...state, connected: action.open };
    case 'length-style':
      return { ...state, lengthStyle: action.style };
    case 'notice':
      return { ...state, notice: { text: action.text, trouble: action.trouble ?? null } };
    case 'notice-read':
      return { ...state, notice: null };
    case 'edit':
    case 'undo':
    case 'redo':
    case 'saving':
    case 'stored':
    case 'work':
    case 'loaded':
    case 'upload':
    case 'upload-gone':
    case 'choose':
    case 'show-picture':
      return state.table ? { ...state, table: reduceTable(state.table, action) } : state;
    default:
      return assertNever(action);
  }
}

function openTable(opened: OpenedTable, before: OpenTable | null): OpenTable {
  const { table, work, measured, stale } = opened;
  if (before?.id === table.id)
    return reduceTable({ ...before, work, measured, stale }, { type: 'stored', document: table });
  return {
    id: table.id,
    stored: table,
    edited: editedOf(table),
    past: [],
    future: [],
    gesture: null,
    saving: 'saved',
    conflict: null,
    work,
    measured,
    stale,
    uploads: [],
    report: nothingYet,
    planView: nothingYet,
    plan: nothingYet,
    planOutdated: false,
    chosen: null,
    picture: 'plan',
  };
}
