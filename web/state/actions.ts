import type { TableDocument, WorkState } from '../../server/contract/tables.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import type { OpenedTable, TableSummary } from '../api/tables-api.js';
import type { Trouble } from '../api/trouble.js';
import type { CorrectingState, Edited, Loadable, OpenTable, Place, Upload } from './app-state.js';

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
  | { readonly type: 'show-picture'; readonly picture: string }
  | { readonly type: 'correct'; readonly correcting: CorrectingState | null };
