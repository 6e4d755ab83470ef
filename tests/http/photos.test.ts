import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { TableDocument } from '../../server/contract/tables.js';
import { type PhotoAnswer, type ServerUnderTest, serverUnderTest } from '../support/server-under-test.js';
import { unpackingPng } from '../support/unpacking-png.js';

let server: ServerUnderTest;
let table: TableDocument;
let count = 0;
beforeAll(async () => {
  server = await serverUnderTest();
  table = await server.newTable('Photos');
});
afterAll(() => server.close());

const nextId = (): string => `photo-${String(++count).padStart(4, '0')}`;
const send = (bytes: Uint8Array, name = 'IMG_1.jpg', id = nextId()) => server.send(table.id, id, name, bytes);
const blank = (width: number, height: number) => sharp({ create: { width, height, channels: 3, background: '#a98' } });
const filesOfTable = (): string[] => readdirSync(join(server.home, table.id, 'photos')).sort();

describe('photos', () => {
  it('are stored with their upright size, whatever the format', async () => {
    const lying = await blank(800, 600).withMetadata({ orientation: 6 }).jpeg().toBuffer();
    expect((await send(lying)).body).toMatchObject({ format: 'jpeg', widthPx: 600, heightPx: 800 });
    expect((await send(await blank(640, 480).png().toBuffer())).body).toMatchObject({ format: 'png', widthPx: 640 });
    expect((await send(await blank(640, 480).webp().toBuffer())).body).toMatchObject({ format: 'webp', widthPx: 640 });
    const heic = readFileSync(fileURLToPath(new URL('../support/photos/quarters.heic', import.meta.url)));
    const stored = await send(heic, 'IMG_2.HEIC');
    expect(stored.status).toBe(201);
    expect(stored.body).toMatchObject({ format: 'heic', name: 'IMG_2.HEIC' });
  });

  it('sent again under the same id change nothing', async () => {
    const bytes = await blank(400, 300).jpeg().toBuffer();
    const first = await send(bytes, 'a.jpg', 'twice-sent-1');
    const before = await server.store.read(table.id);
    const again = await send(bytes, 'other.jpg', 'twice-sent-1');
    expect(again).toEqual({ status: 200, body: first.body });
    expect(await server.store.read(table.id)).toEqual(before);
  });

  it('that are sent at the same time under one id become one photo', async () => {
    const bytes = await blank(400, 300).jpeg().toBuffer();
    const answers = await Promise.all([1, 2, 3].map(() => send(bytes, 'b.jpg', 'thrice-at-once')));
    expect(answers.map((a) => a.body.id)).toEqual(['thrice-at-once', 'thrice-at-once', 'thrice-at-once']);
    expect(filesOfTable().filter((f) => f.startsWith('thrice'))).toEqual(['thrice-at-once.jpeg']);
  });

  it.each<[string, string, () => Promise<Uint8Array> | Uint8Array]>([
    ['an empty file', 'not-a-photo', () => new Uint8Array(0)],
    ['a text', 'not-a-photo', () => Buffer.from('this is no photo, only words '.repeat(40))],
    ['an SVG', 'not-a-photo', () => Buffer.from('<svg xmlns="http://www.w3.org/2000/svg"/>')],
    ['a photo of one pixel', 'photo-too-small', () => blank(1, 1).png().toBuffer()],
    ['half a photo', 'photo-damaged', async () => (await blank(2000, 1500).jpeg().toBuffer()).subarray(0, 9000)],
    ['a small file that unpacks to 900 megapixels', 'photo-too-large', () => unpackingPng(30_000, 30_000)],
  ])('refuse %s as %s and keep everything that was there', async (_, code, make) => {
    const before = [filesOfTable(), (await server.store.read(table.id)).ok];
    const { status, body } = await send(await make());
    expect(status).toBeGreaterThanOrEqual(400);
    expect(body.problem.code).toBe(code);
    expect(body.text.sentence).toContain('IMG_1.jpg');
    expect(body.text.nextStep.length).toBeGreaterThan(10);
    expect([filesOfTable(), (await server.store.read(table.id)).ok]).toEqual(before);
  });

  it.each([
    ['../../../etc/passwd', 'passwd'],
    ['C:\\Users\\me\\IMG 7.jpg', 'IMG 7.jpg'],
    ['a\u0000b\u202Egpj.jpg', 'abgpj.jpg'],
    ['🚂 table.jpg', '🚂 table.jpg'],
    ['..', 'photo'],
    ['', 'photo'],
  ])('named %j are shown as %j and stored by their id alone', async (given, shown) => {
    const { status, body } = await send(await blank(300, 300).jpeg().toBuffer(), given);
    expect(status).toBe(201);
    expect(body.name.replace(/ \(\d+\)/, '')).toBe(shown);
    expect(filesOfTable()).toContain(`${body.id}.jpeg`);
  });

  it('with a name of 300 characters are stored under a shorter one that keeps its ending', async () => {
    const { body } = await send(await blank(300, 300).jpeg().toBuffer(), `${'long '.repeat(60)}.jpeg`);
    expect(body.name.length).toBeLessThanOrEqual(80);
    expect(body.name.endsWith('.jpeg')).toBe(true);
  });

  it('of the same name get names that differ, so that a report can tell them apart', async () => {
    const bytes = await blank(300, 300).jpeg().toBuffer();
    const names = [await send(bytes, 'same.jpg'), await send(bytes, 'same.jpg'), await send(bytes, 'same.jpg')];
    expect(names.map((a) => a.body.name)).toEqual(['same.jpg', 'same (2).jpg', 'same (3).jpg']);
  });

  it.each(['short', 'With-Capitals', '..%2f..%2fphoto', 'x'.repeat(41), 'dots.in.it'])(
    'with the id %s are refused',
    async (id) => {
      const { status, body } = await send(await blank(300, 300).jpeg().toBuffer(), 'a.jpg', id);
      expect([status, body.problem.code]).toEqual([422, 'bad-field']);
    },
  );

  it('are shown upright and reduced to the next greater of four widths', async () => {
    const { body } = await send(await blank(3000, 2000).withMetadata({ orientation: 6 }).jpeg().toBuffer());
    for (const [asked, got] of [
      [300, 800],
      [801, 1600],
      [5000, 2000],
      ['rubbish', 1600],
    ] as const) {
      const answer = await server.app.request(`/api/tables/${table.id}/photos/${body.id}/view?width=${asked}`);
      const picture = await sharp(Buffer.from(await answer.arrayBuffer())).metadata();
      expect([picture.format, picture.width, picture.height]).toEqual(['jpeg', got, got * 1.5]);
      expect(answer.headers.get('cache-control')).toContain('immutable');
    }
  });

  it('are handed out as they came, as a download and never as a page', async () => {
    const bytes = await blank(300, 200).jpeg().toBuffer();
    const { body } = await send(bytes);
    const answer = await server.app.request(`/api/tables/${table.id}/photos/${body.id}/original`);
    expect(Buffer.from(await answer.arrayBuffer()).equals(bytes)).toBe(true);
    expect(answer.headers.get('content-type')).toBe('application/octet-stream');
    expect(answer.headers.get('content-disposition')).toMatch(/^attachment/);
  });

  it('are judged before they are measured, and the judgement is kept beside the reduced pictures', async () => {
    const { body } = await send(await blank(800, 600).jpeg().toBuffer());
    const path = `/api/tables/${table.id}/photos/${body.id}/look`;
    const look = await server.ask<{ remarks: string[]; markers: number[] }>('GET', path);
    expect(look).toMatchObject({ status: 200, body: { remarks: ['no-marker'], markers: [], wholeTable: null } });
    expect(readdirSync(join(server.home, table.id, 'views'))).toContain(`${body.id}-look.json`);
    expect(await server.ask('GET', path)).toEqual(look);
    const unknown = await server.ask<PhotoAnswer>('GET', `/api/tables/${table.id}/photos/not-there-1/look`);
    expect([unknown.status, unknown.body.problem.code]).toEqual([404, 'unknown-photo']);
  });

  it('that are removed are gone from the table and from the disk', async () => {
    const { body } = await send(await blank(300, 200).jpeg().toBuffer());
    const path = `/api/tables/${table.id}/photos/${body.id}`;
    expect((await server.ask('DELETE', path)).status).toBe(204);
    expect(filesOfTable().some((f) => f.startsWith(body.id))).toBe(false);
    const again = await server.ask<PhotoAnswer>('DELETE', path);
    expect([again.status, again.body.problem.code]).toEqual([404, 'unknown-photo']);
    expect((await server.ask('GET', `${path}/view`)).status).toBe(404);
  });

  it('beyond forty are refused', async () => {
    const full = await server.newTable('Full');
    const bytes = await blank(200, 200).jpeg().toBuffer();
    for (let i = 0; i < 40; i++) await server.send(full.id, `photo-${String(i).padStart(4, '0')}`, 'p.jpg', bytes);
    const { status, body } = await server.send(full.id, 'one-too-many', 'p.jpg', bytes);
    expect([status, body.problem.code]).toEqual([409, 'too-many-photos']);
  });
});
