import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { TableDocument } from '../../server/contract/tables.js';
import {
  type PhotoAnswer,
  type ServerUnderTest,
  scriptedWorker,
  serverUnderTest,
} from '../support/server-under-test.js';
import { unpackingPng } from '../support/unpacking-png.js';
import { zipOf } from '../support/zip-of.js';

let server: ServerUnderTest;
let other: ServerUnderTest;
beforeAll(async () => {
  server = await serverUnderTest({ workerPath: scriptedWorker });
  other = await serverUnderTest();
});
afterAll(() => {
  server.close();
  other.close();
});

const jpeg = () =>
  sharp({ create: { width: 400, height: 300, channels: 3, background: '#a98' } })
    .jpeg()
    .toBuffer();

/** A measured and planned table with two photos and donors. */
async function fullTable(): Promise<TableDocument> {
  const { id, version, stock: none } = await server.newTable('Larkspur Lane');
  const donors = ['d1', 'd2', 'd3'].map((donor) => ({ id: donor, lengthMm: 254 }));
  await server.ask('PATCH', `/api/tables/${id}`, { version, stock: { ...none, donors } });
  await server.send(id, 'photo-0001', 'done.jpg', await jpeg());
  await server.send(id, 'photo-0002', 'IMG 2.jpg', await jpeg());
  await server.ask('POST', `/api/tables/${id}/measure`);
  expect((await server.workDone(id)).status).toBe('done');
  const planned = await server.ask('POST', `/api/tables/${id}/plan`);
  expect(planned.status, JSON.stringify(planned.body)).toBe(200);
  const table = await server.store.read(id);
  if (!table.ok) throw new Error(table.problem.code);
  return table.value;
}

async function pack(at: ServerUnderTest, id: string): Promise<Buffer> {
  const answer = await at.app.request(`/api/tables/${id}/table.zip`);
  expect(answer.status).toBe(200);
  expect(answer.headers.get('content-type')).toBe('application/zip');
  return Buffer.from(await answer.arrayBuffer());
}

async function unpack(at: ServerUnderTest, bytes: Uint8Array) {
  const answer = await at.app.request('/api/tables/packed?name=mine.zip', {
    method: 'POST',
    body: new Uint8Array(bytes),
  });
  return { status: answer.status, body: (await answer.json()) as TableDocument & PhotoAnswer };
}

/** What is left in a home: folders of tables, and anything half done. */
const homeOf = (at: ServerUnderTest): string[] =>
  readdirSync(at.home).filter((name) => !name.endsWith('scripted-worker.json'));

describe('a packed table', () => {
  it('is opened by another Gapwright with photos, settings, wishes, stock, report and plan, not stale', async () => {
    const table = await fullTable();
    const made = await unpack(other, await pack(server, table.id));
    expect(made.status).toBe(201);
    const { name, photos, settings, wishes, stock, corrections } = made.body;
    expect({ name, settings, wishes, stock, corrections }).toEqual({
      name: table.name,
      settings: table.settings,
      wishes: table.wishes,
      stock: table.stock,
      corrections: table.corrections,
    });
    expect(photos.map((p) => [p.id, p.name, p.bytes])).toEqual(table.photos.map((p) => [p.id, p.name, p.bytes]));
    const opened = await other.ask<{ stale: boolean; measured: boolean }>('GET', `/api/tables/${made.body.id}`);
    expect(opened.body).toMatchObject({ measured: true, stale: false, planCurrent: true });
    for (const part of ['report', 'plan', 'plan-view']) {
      const [theirs, ours] = await Promise.all([
        server.ask('GET', `/api/tables/${table.id}/${part}`),
        other.ask('GET', `/api/tables/${made.body.id}/${part}`),
      ]);
      expect(ours, part).toEqual(theirs);
    }
    const photo = await other.app.request(`/api/tables/${made.body.id}/photos/photo-0001/view?width=300`);
    expect(photo.status).toBe(200);
  });

  it('goes on where it was: what the last correction changed is known, and a check waits for new photos', async () => {
    const table = await fullTable();
    await server.ask('POST', `/api/tables/${table.id}/measure`);
    expect((await server.workDone(table.id)).status).toBe('done');
    const { id } = (await unpack(other, await pack(server, table.id))).body;
    for (const [at, tableId] of [
      [server, table.id],
      [other, id],
    ] as const) {
      const opened = await at.ask<{ photosSincePlanned: boolean }>('GET', `/api/tables/${tableId}`);
      expect(opened.body.photosSincePlanned).toBe(false);
      const before = await at.ask<{ report: { joints: unknown[] } | null }>(
        'GET',
        `/api/tables/${tableId}/report-before`,
      );
      expect(before.body.report?.joints.length).toBeGreaterThan(0);
      expect((await at.ask('GET', `/api/tables/${tableId}/planned`)).status).toBe(200);
    }
  });

  it('is opened twice as two tables', async () => {
    const packed = await pack(server, (await fullTable()).id);
    const [first, second] = [await unpack(other, packed), await unpack(other, packed)];
    expect(first.body.id).not.toBe(second.body.id);
    expect(second.body.name).toMatch(/^Larkspur Lane \(\d+\)$/);
    expect(second.body.name).not.toBe(first.body.name);
  });

  it('that is no archive, holds no table, or holds a bad photo is refused with a sentence and leaves nothing', async () => {
    const table = await server.newTable('Empty');
    const document = {
      ...table,
      photos: [{ id: 'photo-0001', name: 'a.jpg', format: 'png', bytes: 9, widthPx: 1, heightPx: 1, added: '' }],
    };
    const json = (value: unknown): Buffer => Buffer.from(JSON.stringify(value));
    const before = homeOf(other);
    const cases: [string, Uint8Array][] = [
      ['not-a-table-zip', Buffer.from('no archive at all')],
      ['not-a-table-zip', new Uint8Array(0)],
      ['not-a-table-zip', await zipOf({ 'readme.txt': Buffer.from('hello') })],
      ['not-a-table-zip', await zipOf({ 'x/table.json': json(document) })],
      [
        'bad-track-profile',
        await zipOf({
          'table.json': json({ ...document, photos: [], settings: { ...table.settings, track: { gaugeMm: -1 } } }),
        }),
      ],
      [
        'bad-field',
        await zipOf({
          'table.json': json({
            ...document,
            photos: [],
            stock: { ...table.stock, donors: ['d1', 'd1'].map((id) => ({ id, lengthMm: 254 })) },
          }),
        }),
      ],
      ['table-damaged', await zipOf({ 'table.json': Buffer.from('{') })],
      ['newer-format', await zipOf({ 'table.json': json({ ...document, format: 'gapwright-table/9' }) })],
      ['not-a-photo', await zipOf({ 'table.json': json(document), 'photos/photo-0001.png': Buffer.from('words') })],
      [
        'photo-too-large',
        await zipOf({ 'table.json': json(document), 'photos/photo-0001.png': unpackingPng(30_000, 30_000) }),
      ],
      [
        'not-a-table-zip',
        await zipOf({ 'table.json': json({ ...document, photos: [{ ...document.photos[0], id: '../../evil' }] }) }),
      ],
      ['not-a-table-zip', (await pack(server, table.id)).subarray(0, 90)],
    ];
    for (const [code, bytes] of cases) {
      const { status, body } = await unpack(other, bytes);
      expect([body.problem?.code, status >= 400], code).toEqual([code, true]);
      expect(body.text.nextStep.length).toBeGreaterThan(10);
    }
    expect(homeOf(other)).toEqual(before);
  });

  it('writes nothing outside its own folder, whatever its files are called', async () => {
    const table = await server.newTable('Names');
    const packed = await zipOf({
      'table.json': Buffer.from(JSON.stringify(table)),
      '../../outside.txt': Buffer.from('x'),
      '/etc/outside.txt': Buffer.from('x'),
      'photos/..\\..\\outside.txt': Buffer.from('x'),
    });
    const made = await unpack(other, packed);
    expect(made.status).toBe(201);
    const files = readdirSync(join(other.home, made.body.id), { recursive: true }).map(String).sort();
    expect(files).toEqual(['photos', 'table.json']);
  });
});
