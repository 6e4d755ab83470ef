import { describe, expect, test } from 'vitest';
import { noStock } from '../../../../server/contract/stock.js';
import type { TableDocument } from '../../../../server/contract/tables.js';
import { noWishes } from '../../../../server/contract/wishes.js';
import { noConnection } from '../../../../web/api/trouble.js';
import type { Action } from '../../../../web/state/actions.js';
import { type AppState, type OpenTable, startState } from '../../../../web/state/app-state.js';
import { mergeEdits } from '../../../../web/state/merge-edits.js';
import { addressOf, placeOf } from '../../../../web/state/place.js';
import { reduce } from '../../../../web/state/reduce.js';
import { stepsDone } from '../../../../web/state/steps-done.js';
import { workShown } from '../../../../web/state/work-shown.js';
import { birchTable } from '../../../support/birch-table.js';

const document = birchTable();

const photo = (id: string) => ({
  id,
  name: 'blurred.jpg',
  format: 'jpeg' as const,
  bytes: 1,
  widthPx: 4032,
  heightPx: 3024,
  added: '2026-01-01T00:00:00Z',
});

const opened: Action = {
  type: 'opened',
  opened: {
    table: document,
    work: { status: 'none' },
    measured: false,
    stale: false,
    planCurrent: true,
    photosSincePlanned: false,
    beforeCuts: [],
  },
};
const place: Action = { type: 'went', place: { table: 'birch-1', step: 'wishes' } };

function stateAfter(...actions: Action[]): AppState {
  return actions.reduce(reduce, startState);
}

function tableAfter(...actions: Action[]): OpenTable {
  const { table } = stateAfter(place, opened, ...actions);
  if (!table) throw new Error('no table is open');
  return table;
}

const renamed = (name: string): Action => ({ type: 'edit', change: { name } });

describe('editing', () => {
  test('undo and redo go back and forth over every edit', () => {
    const edits = [renamed('a'), renamed('b'), renamed('c')];
    expect(tableAfter(...edits).edited.name).toBe('c');
    expect(tableAfter(...edits, { type: 'undo' }, { type: 'undo' }).edited.name).toBe('a');
    expect(tableAfter(...edits, { type: 'undo' }, { type: 'undo' }, { type: 'redo' }).edited.name).toBe('b');
    expect(
      tableAfter(...edits, { type: 'undo' }, { type: 'undo' }, { type: 'undo' }, { type: 'undo' }).edited.name,
    ).toBe('Birch');
  });

  test('a new edit after an undo ends what could be redone', () => {
    expect(tableAfter(renamed('a'), { type: 'undo' }, renamed('b'), { type: 'redo' }).edited.name).toBe('b');
  });

  test('an edit that changes nothing is no step of undo', () => {
    expect(tableAfter(renamed('Birch')).past).toHaveLength(0);
  });

  test('all of one drag is one step of undo', () => {
    const drag = (name: string, gesture: string): Action => ({ type: 'edit', change: { name }, gesture });
    const table = tableAfter(drag('1', 'x'), drag('2', 'x'), drag('3', 'x'), drag('4', 'y'), { type: 'undo' });
    expect(table.edited.name).toBe('3');
    expect(reduce({ ...startState, table }, { type: 'undo' }).table?.edited.name).toBe('Birch');
  });

  test('changed wishes make the plan one of before; a changed name does not', () => {
    expect(tableAfter(renamed('a')).planOutdated).toBe(false);
    expect(tableAfter({ type: 'edit', change: { wishes: { ...noWishes, closeGaps: false } } }).planOutdated).toBe(true);
  });
});

describe('two devices', () => {
  const theirs: TableDocument = { ...document, version: 4, name: 'Theirs' };

  test('a change from elsewhere shows at once when nothing is unsaved here', () => {
    const table = tableAfter({ type: 'stored', document: theirs });
    expect(table.edited.name).toBe('Theirs');
    expect(table.saving).toBe('saved');
    expect(table.conflict).toBeNull();
  });

  test('changes of different parts are joined', () => {
    const table = tableAfter(
      { type: 'edit', change: { wishes: { ...noWishes, closeGaps: false } } },
      { type: 'stored', document: theirs },
    );
    expect(table.edited.name).toBe('Theirs');
    expect(table.edited.wishes.closeGaps).toBe(false);
    expect(table.saving).toBe('unsaved');
    expect(table.conflict).toBeNull();
  });

  test('changes of the same part are a conflict: nothing is overwritten until the person decides', () => {
    const met = [renamed('Mine'), { type: 'stored', document: theirs }] as Action[];
    expect(tableAfter(...met).stored).toEqual(theirs);
    expect(tableAfter(...met).conflict?.name).toBe(document.name);
    expect(tableAfter(...met).edited.name).toBe('Mine');
    const taken = tableAfter(...met, { type: 'stored', document: theirs, takeTheirs: true });
    expect([taken.edited.name, taken.conflict, taken.saving]).toEqual(['Theirs', null, 'saved']);
    expect(reduce({ ...startState, table: taken }, { type: 'undo' }).table?.edited.name).toBe('Mine');
    const kept = tableAfter(...met, { type: 'stored', document: theirs, keepMine: true });
    expect([kept.edited.name, kept.conflict, kept.saving, kept.stored.version]).toEqual(['Mine', null, 'unsaved', 4]);
  });

  test('a conflict stands however often the other version is heard of, and newer ones join it', () => {
    const again: TableDocument = { ...theirs, version: 5, stock: { ...document.stock, kerfMm: 1.7 } };
    const met = [
      renamed('Mine'),
      { type: 'stored', document: theirs },
      { type: 'stored', document: theirs },
    ] as Action[];
    const table = tableAfter(...met, { type: 'stored', document: again });
    for (const one of [tableAfter(...met), table]) {
      expect([one.conflict?.name, one.stored.name, one.edited.name, one.saving]).toEqual([
        'Birch',
        'Theirs',
        'Mine',
        'unsaved',
      ]);
    }
    const kept = tableAfter(...met, { type: 'stored', document: again, keepMine: true });
    expect([kept.edited.name, kept.edited.stock.kerfMm, kept.conflict]).toEqual(['Mine', 1.7, null]);
  });

  test('a conflict ends by itself when this page takes its own change back', () => {
    const table = tableAfter(
      renamed('Mine'),
      { type: 'stored', document: theirs },
      { type: 'undo' },
      {
        type: 'stored',
        document: theirs,
      },
    );
    expect([table.edited.name, table.conflict, table.saving]).toEqual(['Theirs', null, 'saved']);
  });

  test('that the server does not answer is not said once it has, conflict or not', () => {
    const lost: Action = { type: 'notice', text: '', trouble: noConnection };
    const other: Action = { type: 'notice', text: 'Measured.' };
    for (const answer of [opened, { type: 'stored', document: theirs }] as Action[]) {
      expect(stateAfter(place, opened, renamed('Mine'), lost, answer).notice).toBeNull();
      expect(stateAfter(place, opened, renamed('Mine'), other, answer).notice?.text).toBe('Measured.');
    }
  });

  test('an answer that comes late, with an older version, changes nothing', () => {
    const table = tableAfter({ type: 'stored', document: theirs }, { type: 'stored', document });
    expect([table.edited.name, table.stored.version]).toEqual(['Theirs', 4]);
  });

  test('the answer to a save does not undo what was typed meanwhile', () => {
    const sent = tableAfter(renamed('a')).edited;
    const table = tableAfter(renamed('a'), renamed('ab'), {
      type: 'stored',
      document: { ...document, version: 4, name: 'a' },
      sent,
    });
    expect(table.edited.name).toBe('ab');
    expect(table.saving).toBe('unsaved');
  });

  test('joining keeps mine where both changed the same part, and says so', () => {
    const base = tableAfter().edited;
    const { merged, clashes } = mergeEdits(
      base,
      { ...base, name: 'Mine' },
      { ...base, name: 'Theirs', stock: { ...noStock, kerfMm: 2 } },
    );
    expect(merged.name).toBe('Mine');
    expect(merged.stock.kerfMm).toBe(2);
    expect(clashes).toEqual(['name']);
  });
});

describe('places', () => {
  test.each([
    ['#/', { table: null, step: null }],
    ['', { table: null, step: null }],
    ['#/table/birch-1/measured', { table: 'birch-1', step: 'measured' }],
    ['#/table/birch-1', { table: 'birch-1', step: 'photos' }],
    ['#/table/birch-1/nonsense', { table: 'birch-1', step: 'photos' }],
    ['#/table/%E0%A4%A/photos', { table: null, step: null }],
  ])('%s leads there', (address, expected) => {
    expect(placeOf(address)).toEqual(expected);
  });

  test('every place has an address that leads back to it', () => {
    expect(placeOf(addressOf({ table: 'a b/c', step: 'cut' }))).toEqual({ table: 'a b/c', step: 'cut' });
  });

  test('going to another table closes this one; another step does not', () => {
    expect(stateAfter(place, opened, { type: 'went', place: { table: 'birch-1', step: 'cut' } }).table?.id).toBe(
      'birch-1',
    );
    expect(stateAfter(place, opened, { type: 'went', place: { table: 'other', step: 'cut' } }).table).toBeNull();
  });

  test('an answer for a table that is no longer open is dropped', () => {
    const state = stateAfter(place, opened, { type: 'work', table: 'other', work: { status: 'done' } });
    expect(state.table?.work.status).toBe('none');
  });

  test('a step counts as done only when it has what it is for', () => {
    expect([...stepsDone(null)]).toEqual([]);
    expect([...stepsDone(tableAfter())]).toEqual([]);
    expect(stepsDone({ ...tableAfter(), measured: true, stale: true }).has('measured')).toBe(false);
    const added = { ...tableAfter(), stored: { ...document, photos: [photo('blurred-1')] } };
    expect([...stepsDone(added)]).toEqual(['sheet']);
    expect([...stepsDone({ ...added, measured: true })]).toEqual(['sheet', 'photos', 'measured']);
  });

  test('a failure goes with the photos that it speaks of; one that names none goes with the last photo', () => {
    const why = { code: 'no-marker', data: { name: 'blurred.jpg' } } as const;
    const failed = (photos: string[], spokenOf?: string[]) => ({
      ...tableAfter(),
      stored: { ...document, photos: photos.map(photo) },
      work: { status: 'failed', problem: why, ...(spokenOf ? { photos: spokenOf } : {}) } as const,
    });
    expect(workShown(failed(['blurred-1', 'good-1'], ['blurred-1'])).status).toBe('failed');
    // The new one may have the same name.
    expect(workShown(failed(['blurred-2', 'good-1'], ['blurred-1'])).status).toBe('none');
    expect(workShown({ ...failed(['good-1'], ['blurred-1']), measured: true }).status).toBe('done');
    expect(workShown(failed(['good-1'])).status).toBe('failed');
    expect(workShown(failed([])).status).toBe('none');
  });
});
