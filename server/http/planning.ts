import { Hono } from 'hono';
import { z } from 'zod';
import { type Problem, problem } from '../contract/problems.js';
import type { Settings, TableDocument } from '../contract/tables.js';
import {
  accessoriesOf,
  isSheetName,
  type SheetName,
  type SheetOptions,
  type SheetSources,
  sheetForms,
} from '../exports/sheets.js';
import { readPlan, readPlanned, readPlanView, readPlanViewJpeg, readReport } from '../projects/measured-store.js';
import type { LengthStyle } from '../units/format-length.js';
import { orAnswer, ProblemAnswer } from './answer.js';
import { checked } from './read-json.js';
import type { Services } from './services.js';

const sheetQuery = z.object({
  paper: z.enum(['letter', 'a4']).default('letter'),
  unit: z.enum(['in', 'mm']).optional(),
});

/**
 * The filler plan of a table, and every paper and file made from it and from the measurement. Where there is no plan yet the
 * answer says so as trouble; `?or=nothing` asks for an empty answer instead, as the page does that need not have one.
 */
export function planning(services: Services): Hono {
  const { store, planner } = services;
  const names = Object.keys(sheetForms).join('|').replaceAll('.', '\\.');
  return new Hono()
    .post('/:id/plan', async (c) => c.json(orAnswer(await planner.plan(c.req.param('id')))))
    .get('/:id/plan', async (c) => {
      const plan = orAnswer(await readPlan(store, orAnswer(await store.read(c.req.param('id')))));
      if (!plan && c.req.query('or') === 'nothing') return c.body(null, 204);
      return c.json(plan ?? missing('nothing-planned'));
    })
    .get('/:id/planned', async (c) => {
      const plan = orAnswer(await readPlanned(store, orAnswer(await store.read(c.req.param('id')))));
      if (!plan && c.req.query('or') === 'nothing') return c.body(null, 204);
      return c.json(plan ?? missing('nothing-planned-before'));
    })
    .get(`/:id/:sheet{(?:${names})}`, async (c) => {
      const { paper, unit } = checked(sheetQuery, c.req.query());
      const table = orAnswer(await store.read(c.req.param('id')));
      const name = c.req.param('sheet');
      if (!isSheetName(name)) return missing('nothing-planned');
      const options: SheetOptions = {
        paper,
        style: lengthStyle(table.settings, unit),
        tableName: table.name,
        accessories: accessoriesOf(table.wishes),
        jointAllowanceMm: table.wishes.jointAllowanceMm,
      };
      const sheet = await sheetForms[name].make(await sourcesFor(services, table, name), options);
      const [stem, ending] = name.split('.');
      const fileName = `${table.name}, ${stem?.replaceAll('-', ' ')}.${ending}`;
      return c.body(typeof sheet === 'string' ? sheet : new Uint8Array(sheet), 200, {
        'content-type': sheetForms[name].type,
        'content-disposition': `attachment; filename*=UTF-8''${encodeURIComponent(fileName)}`,
      });
    });
}

function missing(code: 'nothing-planned' | 'nothing-planned-before'): never {
  throw new ProblemAnswer(problem(code, {}) as Problem);
}

/** Reads what a sheet is made from; ends the request where something that it needs is not there. */
async function sourcesFor({ store }: Services, table: TableDocument, name: SheetName): Promise<SheetSources> {
  const needs: readonly string[] = sheetForms[name].needs;
  const report = orAnswer(await readReport(store, table));
  const plan =
    orAnswer(await readPlan(store, table)) ?? (needs.includes('plan') ? missing('nothing-planned') : undefined);
  const sources: SheetSources = plan === undefined ? { report } : { report, plan };
  if (needs.includes('planned')) {
    return { ...sources, planned: orAnswer(await readPlanned(store, table)) ?? missing('nothing-planned-before') };
  }
  if (!needs.includes('picture')) return sources;
  const picture = new Uint8Array(orAnswer(await readPlanViewJpeg(store, table)));
  return { ...sources, planView: orAnswer(await readPlanView(store, table)), picture };
}

function lengthStyle(settings: Settings, unit: LengthStyle['unit'] | undefined): LengthStyle {
  return { unit: unit ?? settings.unit, denominator: settings.denominator };
}
