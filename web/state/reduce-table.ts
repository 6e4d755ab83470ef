import { assertNever } from '../../server/base/assert.js';
import type { TableAction } from './actions.js';
import { type Edited, editedOf, type OpenTable } from './app-state.js';
import { mergeEdits, same } from './merge-edits.js';

/** Undo reaches this far back. */
const mostUndo = 100;

/** What happens to the open table. Pure. */
export function reduceTable(table: OpenTable, action: TableAction): OpenTable {
  switch (action.type) {
    case 'edit':
      return edit(table, { ...table.edited, ...action.change }, action.gesture ?? null);
    case 'undo':
      return undo(table);
    case 'redo':
      return redo(table);
    case 'saving':
      return { ...table, saving: action.status };
    case 'stored':
      return stored(table, action);
    case 'work':
      return action.table === table.id ? { ...table, work: action.work } : table;
    case 'loaded':
      return action.table === table.id ? { ...table, ...action.part } : table;
    case 'upload':
      if (action.table !== table.id) return table;
      return { ...table, uploads: replaced(table.uploads, action.upload) };
    case 'upload-gone':
      if (action.table !== table.id) return table;
      return { ...table, uploads: table.uploads.filter((u) => u.id !== action.id) };
    case 'choose':
      return { ...table, chosen: action.thing };
    case 'show-picture':
      return { ...table, picture: action.picture };
    case 'correct':
      return { ...table, correcting: action.correcting };
    default:
      return assertNever(action);
  }
}

function edit(table: OpenTable, next: Edited, gesture: string | null): OpenTable {
  if (same(next, table.edited)) return table;
  return {
    ...changed(table, next),
    past: gesture !== null && gesture === table.gesture ? table.past : [...table.past, table.edited].slice(-mostUndo),
    future: [],
    gesture,
  };
}

function undo(table: OpenTable): OpenTable {
  const last = table.past.at(-1);
  if (!last) return table;
  return { ...changed(table, last), past: table.past.slice(0, -1), future: [table.edited, ...table.future] };
}

function redo(table: OpenTable): OpenTable {
  const [next, ...rest] = table.future;
  if (!next) return table;
  return { ...changed(table, next), past: [...table.past, table.edited], future: rest };
}

function changed(table: OpenTable, edited: Edited): OpenTable {
  const planTouched = edited.wishes !== table.edited.wishes || edited.stock !== table.edited.stock;
  return { ...table, edited, gesture: null, saving: 'unsaved', planOutdated: table.planOutdated || planTouched };
}

/**
 * A document from the server, joined with what is not saved yet; where both changed the same part, the person decides,
 * and until then nothing is joined or sent, however often the same document comes. One older than the last is passed over.
 */
function stored(table: OpenTable, action: Extract<TableAction, { type: 'stored' }>): OpenTable {
  if (action.document.version < table.stored.version) return table;
  const theirs = editedOf(action.document);
  const base = action.sent ?? table.conflict ?? editedOf(table.stored);
  const { merged, clashes } = mergeEdits(base, table.edited, theirs);
  if (clashes.length > 0 && !action.sent && !action.takeTheirs && !action.keepMine) {
    return { ...table, stored: action.document, saving: 'unsaved', conflict: base };
  }
  const wanted = action.takeTheirs ? theirs : merged;
  const edited = same(wanted, table.edited) ? table.edited : wanted;
  const fromOutside = edited !== table.edited && !action.sent;
  const planTouched = !same(edited.wishes, table.edited.wishes) || !same(edited.stock, table.edited.stock);
  return {
    ...table,
    stored: action.document,
    edited,
    saving: same(edited, theirs) ? 'saved' : 'unsaved',
    conflict: null,
    planOutdated: table.planOutdated || planTouched,
    past: fromOutside ? [...table.past, table.edited].slice(-mostUndo) : table.past,
  };
}

function replaced<T extends { readonly id: string }>(list: readonly T[], item: T): readonly T[] {
  return list.some((other) => other.id === item.id) ? list.map((o) => (o.id === item.id ? item : o)) : [...list, item];
}
