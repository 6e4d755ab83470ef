import { rm } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { Hono } from 'hono';
import { z } from 'zod';
import { correctionsSchema } from '../contract/corrections.js';
import { settingsSchema } from '../contract/tables.js';
import { wishesSchema } from '../contract/wishes.js';
import { parseStock } from '../planner/parse-inputs.js';
import { isPlanCurrent, photosBeforeCuts, showsPhotosSincePlanned } from '../projects/measured-store.js';
import { packTable } from '../projects/pack-table.js';
import { photoName } from '../projects/photo-name.js';
import { createSampleTable } from '../projects/sample-tables.js';
import { isStale } from '../projects/table-document.js';
import type { TableChange } from '../projects/table-store.js';
import { unpackTable } from '../projects/unpack-table.js';
import { unusedName } from '../projects/unused-name.js';
import { mostZipBytes } from '../projects/zip-writer.js';
import { parseTrackProfile } from '../scene/parse-track-profile.js';
import { orAnswer, ProblemAnswer } from './answer.js';
import { checked, readJson } from './read-json.js';
import type { Services } from './services.js';

const nameSchema = z.string().trim().min(1).max(80);

const newTableSchema = z.object({
  name: nameSchema.optional(),
  /** True for the first sample, or the id of one. */
  sample: z.union([z.literal(true), z.string().max(40)]).optional(),
});

const changeSchema = z.object({
  version: z.number().int().nonnegative(),
  name: nameSchema.optional(),
  settings: z.record(z.string(), z.unknown()).optional(),
  wishes: z.unknown().optional(),
  stock: z.unknown().optional(),
  corrections: z.unknown().optional(),
});

/** The tables: list, make, open, change, delete. */
export function tables(services: Services): Hono {
  const { store, queue, planner, views, samplesFolder } = services;
  return new Hono()
    .get('/', async (c) => c.json({ tables: await store.list() }))
    .post('/', async (c) => {
      const { name, sample } = checked(newTableSchema, await readJson(c));
      const made =
        sample === undefined
          ? await store.create(await unusedName(store, name ?? 'New table'))
          : await createSampleTable(store, samplesFolder, sample === true ? null : sample, views.check.bind(views));
      return c.json(orAnswer(made), 201);
    })
    .post('/packed', async (c) => {
      const name = photoName(c.req.query('name') ?? 'The file', []);
      const arrived = orAnswer(await store.receiveFile(name, c.req.raw.body ?? Readable.from([]), mostZipBytes));
      const made = await unpackTable(store, arrived, name, views.check.bind(views)).finally(() =>
        rm(arrived, { force: true }),
      );
      return c.json(orAnswer(made), 201);
    })
    .get('/:id/table.zip', async (c) => {
      const packed = orAnswer(await packTable(store, c.req.param('id')));
      const chunks = Readable.toWeb(Readable.from(packed.chunks)) as ReadableStream<Uint8Array>;
      return c.body(chunks, 200, {
        'content-type': 'application/zip',
        'content-disposition': `attachment; filename*=UTF-8''${encodeURIComponent(`${packed.name}.zip`)}`,
      });
    })
    .get('/:id', async (c) => {
      const table = orAnswer(await store.read(c.req.param('id')));
      const work = await queue.state(table);
      const measured = table.measuredInputs !== null;
      const planCurrent = await isPlanCurrent(store, table);
      const photosSincePlanned = await showsPhotosSincePlanned(store, table);
      const beforeCuts = await photosBeforeCuts(store, table);
      return c.json({ table, work, measured, stale: isStale(table), planCurrent, photosSincePlanned, beforeCuts });
    })
    .patch('/:id', async (c) => {
      const { version, ...given } = checked(changeSchema, await readJson(c));
      const change = readChange(given);
      const changed = await store.change(c.req.param('id'), version, change);
      if (changed.ok) {
        // What was measured follows a correction by itself, in the background.
        const follows = change.corrections !== undefined && isStale(changed.value);
        if (follows) orAnswer(await queue.request(changed.value.id));
        if ((change.wishes ?? change.stock) && changed.value.measuredInputs !== null) planner.getReady();
        return c.json(changed.value);
      }
      const { problem: why, current } = changed.problem;
      throw new ProblemAnswer(why, current ? { current } : {});
    })
    .delete('/:id', async (c) => {
      queue.forget(c.req.param('id'));
      orAnswer(await store.remove(c.req.param('id')));
      return c.body(null, 204);
    });
}

/** Checks the parts of a change one by one; settings may be given in part, the others are given whole. */
function readChange(given: Omit<z.infer<typeof changeSchema>, 'version'>): TableChange {
  const change: TableChange = {};
  if (given.name !== undefined) change.name = given.name;
  if (given.settings !== undefined) change.settings = readSettings(given.settings);
  if (given.wishes !== undefined) change.wishes = checked(wishesSchema, given.wishes, 'wishes');
  if (given.stock !== undefined) change.stock = orAnswer(parseStock(given.stock));
  if (given.corrections !== undefined)
    change.corrections = checked(correctionsSchema, given.corrections, 'corrections');
  return change;
}

/** The settings that were given, checked; those that were not given are left out, and so stay as they are. */
function readSettings(given: Readonly<Record<string, unknown>>): TableChange['settings'] {
  const all = checked(settingsSchema, given, 'settings');
  orAnswer(parseTrackProfile(all.track));
  return Object.fromEntries(Object.entries(all).filter(([field]) => field in given)) as TableChange['settings'];
}
