import type { PhotoViews } from '../jobs/photo-views.js';
import type { TablePlanner } from '../jobs/plan-table.js';
import type { MeasureQueue } from '../jobs/queue.js';
import type { TableEvents } from '../jobs/table-events.js';
import type { TableStore } from '../projects/table-store.js';

/** What the requests work with; main.ts puts it together. */
export interface Services {
  readonly store: TableStore;
  readonly queue: MeasureQueue;
  readonly planner: TablePlanner;
  readonly views: PhotoViews;
  readonly events: TableEvents;
  /** Folder with sample-tables.json and its photos. */
  readonly samplesFolder: string;
  /** Folder with the built page. */
  readonly pageFolder: string;
}
