import { assertNever } from '../../server/base/assert.js';
import type { OpenedTable } from '../api/tables-api.js';
import { noConnection } from '../api/trouble.js';
import type { Action } from './actions.js';
import { type AppState, editedOf, nothingYet, type OpenTable } from './app-state.js';
import { reduceTable } from './reduce-table.js';

/** The next state. Pure: effects live in the session. */
export function reduce(state: AppState, action: Action): AppState {
  switch (action.type) {
    case 'went':
      return {
        ...state,
        place: action.place,
        // A correction half made belongs to the screen that is left.
        table: state.table && state.table.id === action.place.table ? { ...state.table, correcting: null } : null,
        tableTrouble: action.place.table === state.place.table ? state.tableTrouble : null,
      };
    case 'tables':
      return { ...answered(state), tables: action.tables };
    case 'opened':
      return { ...answered(state), tableTrouble: null, table: openTable(action.opened, state.table) };
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
    case 'stored':
      return state.table ? { ...answered(state), table: reduceTable(state.table, action) } : state;
    case 'edit':
    case 'undo':
    case 'redo':
    case 'saving':
    case 'work':
    case 'loaded':
    case 'upload':
    case 'upload-gone':
    case 'choose':
    case 'show-picture':
    case 'correct':
      return state.table ? { ...state, table: reduceTable(state.table, action) } : state;
    default:
      return assertNever(action);
  }
}

/** The server has answered: that it does not is no longer said. */
function answered(state: AppState): AppState {
  return state.notice?.trouble?.code === noConnection.code ? { ...state, notice: null } : state;
}

function openTable(opened: OpenedTable, before: OpenTable | null): OpenTable {
  const { table, work, measured, stale, planCurrent, photosSincePlanned, beforeCuts } = opened;
  if (before?.id === table.id)
    return reduceTable(
      { ...before, work, measured, stale, planCurrent, photosSincePlanned, beforeCuts },
      { type: 'stored', document: table },
    );
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
    planned: nothingYet,
    planFrom: null,
    planOutdated: false,
    planCurrent,
    photosSincePlanned,
    beforeCuts,
    chosen: null,
    picture: 'plan',
    correcting: null,
    reportBefore: null,
  };
}
