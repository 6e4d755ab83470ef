import { noCorrections } from '../../server/contract/corrections.js';
import { noStock } from '../../server/contract/stock.js';
import { settingsSchema, type TableDocument } from '../../server/contract/tables.js';
import { noWishes } from '../../server/contract/wishes.js';

/** A table as the server stores it, nothing done on it but what is said. */
export function birchTable(said: Partial<TableDocument> = {}): TableDocument {
  return {
    format: 'gapwright-table/1',
    id: 'birch-1',
    name: 'Birch',
    version: 3,
    changed: '2026-01-01T00:00:00Z',
    sample: false,
    settings: settingsSchema.parse({}),
    photos: [],
    wishes: noWishes,
    stock: noStock,
    corrections: noCorrections,
    measuredInputs: null,
    ...said,
  };
}
