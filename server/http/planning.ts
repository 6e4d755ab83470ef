import { Hono } from 'hono';
import { z } from 'zod';
import type { Plan } from '../contract/plan.js';
import { problem } from '../contract/problems.js';
import type { Report } from '../contract/report.js';
import type { Settings, TableDocument } from '../contract/tables.js';
import { cutSheetCsv } from '../exports/cut-sheet-csv.js';
import { cutSheetDxf } from '../exports/cut-sheet-dxf.js';
import { cutSheetPdf } from '../exports/cut-sheet-pdf.js';
import { cutSheetSvg } from '../exports/cut-sheet-svg.js';
import { readPlan, readReport } from '../projects/measured-store.js';
import type { LengthStyle } from '../units/format-length.js';
import { orAnswer, ProblemAnswer } from './answer.js';
import { checked } from './read-json.js';
import type { Services } from './services.js';

const sheetQuery = z.object({
  paper: z.enum(['letter', 'a4']).default('letter'),
  unit: z.enum(['in', 'mm']).optional(),
});

type SheetQuery = z.infer<typeof sheetQuery>;

interface SheetForm {
  readonly type: string;
  readonly make: (
    plan: Plan,
    report: Report,
    style: LengthStyle,
    table: TableDocument,
    query: SheetQuery,
  ) => Promise<Uint8Array> | string;
}

const sheetForms: Readonly<Record<string, SheetForm>> = {
  pdf: {
    type: 'application/pdf',
    make: (plan, report, style, table, { paper }) => cutSheetPdf(plan, report, { paper, style, tableName: table.name }),
  },
  csv: { type: 'text/csv; charset=utf-8', make: (plan, _, style) => cutSheetCsv(plan, style) },
  svg: { type: 'image/svg+xml', make: (plan, _, style) => cutSheetSvg(plan, style) },
  dxf: { type: 'image/vnd.dxf', make: (plan, _, style) => cutSheetDxf(plan, style) },
};

/** The filler plan of a table and its cut sheets. */
export function planning({ store, planner }: Services): Hono {
  return new Hono()
    .post('/:id/plan', async (c) => c.json(orAnswer(await planner.plan(c.req.param('id')))))
    .get('/:id/plan', async (c) => {
      const plan = orAnswer(await readPlan(store, orAnswer(await store.read(c.req.param('id')))));
      if (plan === null) throw new ProblemAnswer(problem('nothing-planned', {}));
      return c.json(plan);
    })
    .get('/:id/:sheet{cut-sheet\\.(?:pdf|csv|svg|dxf)}', async (c) => {
      const query = checked(sheetQuery, c.req.query());
      const table = orAnswer(await store.read(c.req.param('id')));
      const plan = orAnswer(await readPlan(store, table));
      if (plan === null) throw new ProblemAnswer(problem('nothing-planned', {}));
      const report = orAnswer(await readReport(store, table));
      const ending = c.req.param('sheet').split('.')[1] ?? 'pdf';
      const form = sheetForms[ending] as SheetForm;
      const sheet = await form.make(plan, report, lengthStyle(table.settings, query), table, query);
      return c.body(typeof sheet === 'string' ? sheet : new Uint8Array(sheet), 200, {
        'content-type': form.type,
        'content-disposition': `attachment; filename*=UTF-8''${encodeURIComponent(`Cut sheet, ${table.name}.${ending}`)}`,
        'cache-control': 'no-store',
      });
    });
}

function lengthStyle(settings: Settings, query: SheetQuery): LengthStyle {
  return { unit: query.unit ?? settings.unit, denominator: settings.denominator };
}
