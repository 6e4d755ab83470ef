import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { TableDocument } from '../../server/contract/tables.js';
import type { TableSummary } from '../../server/projects/table-store.js';
import {
  type PhotoAnswer,
  type ServerUnderTest,
  scriptedWorker,
  serverUnderTest,
} from '../support/server-under-test.js';

let server: ServerUnderTest;
beforeAll(async () => {
  server = await serverUnderTest({ workerPath: scriptedWorker });
});
afterAll(() => server.close());

const change = (id: string, body: unknown) =>
  server.ask<TableDocument & PhotoAnswer & { current: TableDocument }>('PATCH', `/api/tables/${id}`, body);

describe('tables', () => {
  it('are made, listed with the last changed first, opened and deleted', async () => {
    const attic = await server.newTable('Attic');
    const cellar = await server.newTable('Cellar');
    await change(attic.id, { version: attic.version, name: 'Attic, east' });
    const listed = (await server.ask<{ tables: TableSummary[] }>('GET', '/api/tables')).body.tables;
    expect(listed.map((t) => t.name).slice(0, 2)).toEqual(['Attic, east', 'Cellar']);
    const opened = await server.ask<{ table: TableDocument }>('GET', `/api/tables/${cellar.id}`);
    expect(opened.body).toMatchObject({ table: cellar, work: { status: 'none' }, measured: false, stale: false });
    expect((await server.ask('DELETE', `/api/tables/${cellar.id}`)).status).toBe(204);
    expect((await server.ask('GET', `/api/tables/${cellar.id}`)).status).toBe(404);
  });

  it('refuse a change of what somebody else changed since, and send along what there is now', async () => {
    const table = await server.newTable();
    const first = await change(table.id, { version: table.version, name: 'From the phone' });
    const second = await change(table.id, { version: table.version, name: 'From the laptop' });
    expect(second.status).toBe(409);
    expect(second.body.problem.code).toBe('changed-elsewhere');
    expect(second.body.current).toEqual(first.body);
    expect((await server.store.read(table.id)).ok && first.body.name).toBe('From the phone');
  });

  it('take in changes of different parts from two devices that know the same version', async () => {
    const table = await server.newTable();
    await change(table.id, { version: table.version, name: 'Named on the phone' });
    const stock = { format: 'gapwright-stock/1', donors: [{ id: 'd1', lengthMm: 254 }] };
    const second = await change(table.id, { version: table.version, stock });
    expect(second.status).toBe(200);
    expect(second.body).toMatchObject({ name: 'Named on the phone', stock: { donors: [{ id: 'd1', lengthMm: 254 }] } });
  });

  it('keep the settings that a change does not name', async () => {
    const table = await server.newTable();
    const { body: low } = await change(table.id, { version: table.version, settings: { track: 'low' } });
    const { body } = await change(table.id, { version: low.version, settings: { unit: 'mm' } });
    expect(body.settings).toMatchObject({ track: 'low', unit: 'mm', markerSideMm: 120 });
  });

  it('keep what the user knows of the table: a tape of a side, and that its corners are square', async () => {
    const table = await server.newTable();
    expect(table.settings).toMatchObject({ sideChecks: [], squareCorners: false });
    const settings = { sideChecks: [{ side: 'A', lengthMm: 1830 }], squareCorners: true };
    const { status } = await change(table.id, { version: table.version, settings });
    expect(status).toBe(200);
    const stored = await server.store.read(table.id);
    expect(stored).toMatchObject({
      value: { settings: { sideChecks: [{ side: 'A', lengthMm: 1830, uMm: null }], squareCorners: true } },
    });
  });

  it.each([
    [{ settings: { markerSideMm: 3 } }, 'settings.markerSideMm'],
    [{ settings: { unit: 'cubit' } }, 'settings.unit'],
    [{ settings: { tapeChecks: [{ from: 1, to: 2, lengthMm: -4 }] } }, 'settings.tapeChecks.0.lengthMm'],
    [{ settings: { sideChecks: [{ side: 'left', lengthMm: 900 }] } }, 'settings.sideChecks.0.side'],
    [{ settings: { sideChecks: [{ side: 'A', lengthMm: 900, uMm: 0 }] } }, 'settings.sideChecks.0.uMm'],
    [{ settings: { squareCorners: 'yes' } }, 'settings.squareCorners'],
    [{ wishes: { format: 'gapwright-wishes/1', stepMm: 0 } }, 'wishes.stepMm'],
    [{ stock: { format: 'gapwright-stock/1', kerfMm: 'wide' } }, 'kerfMm'],
    [{ name: '' }, 'name'],
    [{ name: 'n'.repeat(200) }, 'name'],
  ])('refuse %j, name the field and change nothing', async (part, field) => {
    const table = await server.newTable();
    const { status, body } = await change(table.id, { version: table.version, ...part });
    expect(status).toBe(422);
    expect(body.problem).toMatchObject({ code: 'bad-field', data: { field } });
    expect(await server.store.read(table.id)).toEqual({ ok: true, value: table });
  });

  it('refuse a track profile that no track can have', async () => {
    const table = await server.newTable();
    const { status, body } = await change(table.id, { version: 1, settings: { track: { railTopMm: 900 } } });
    expect([status, body.problem.code]).toEqual([422, 'bad-track-profile']);
  });

  it('refuse a body that is no JSON, and one that is too large', async () => {
    const broken = await server.ask<PhotoAnswer>('POST', '/api/tables', '{"name": ');
    expect([broken.status, broken.body.problem.code]).toEqual([400, 'not-json']);
    const large = await server.ask<PhotoAnswer>('POST', '/api/tables', { name: 'n'.repeat(300_000) });
    expect([large.status, large.body.problem.code]).toEqual([413, 'request-too-large']);
  });

  it.each(['..', '..%2f..%2fetc', '%00', 'A', 'a'.repeat(500), '.hidden', 'in-use'])(
    'do not know the id %s',
    async (id) => {
      for (const method of ['GET', 'DELETE'] as const) {
        expect((await server.ask('GET', `/api/tables/${id}`)).status, method).toBe(404);
      }
    },
  );

  it('list a table that a newer version saved, say so, and leave it alone', async () => {
    const table = await server.newTable('Future');
    const file = join(server.home, table.id, 'table.json');
    const text = readFileSync(file, 'utf8').replace('gapwright-table/1', 'gapwright-table/7');
    writeFileSync(file, text);
    const listed = (await server.ask<{ tables: TableSummary[] }>('GET', '/api/tables')).body.tables;
    expect(listed.find((t) => t.id === table.id)?.problem?.code).toBe('newer-format');
    const { status, body } = await change(table.id, { version: 1, name: 'Past' });
    expect([status, body.problem.code]).toEqual([409, 'newer-format']);
    expect(body.text.sentence).toContain('newer version');
    expect(readFileSync(file, 'utf8')).toBe(text);
  });

  it('list a table whose file is damaged, with what to do', async () => {
    mkdirSync(join(server.home, 'broken-table'));
    writeFileSync(join(server.home, 'broken-table', 'table.json'), '{"format": "gapwright-ta');
    const { status, body } = await server.ask<PhotoAnswer>('GET', '/api/tables/broken-table');
    expect([status, body.problem.code]).toEqual([409, 'table-damaged']);
  });

  it('are made from a sample with its photo, wishes and stock', async () => {
    const { status, body } = await server.ask<TableDocument>('POST', '/api/tables', { sample: true });
    expect(status).toBe(201);
    expect(body).toMatchObject({ sample: true, settings: { markerSideMm: 150 }, photos: [{ name: 'birch-oval.jpg' }] });
    expect(body.stock.donors.length).toBeGreaterThan(0);
    const unknown = await server.ask<PhotoAnswer>('POST', '/api/tables', { sample: 'moon' });
    expect([unknown.status, unknown.body.problem.code]).toEqual([404, 'unknown-sample']);
  });
});
