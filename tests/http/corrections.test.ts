import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { type Corrections, correctionsFormat, noCorrections } from '../../server/contract/corrections.js';
import type { TableDocument, WorkState } from '../../server/contract/tables.js';
import {
  type PhotoAnswer,
  type ServerUnderTest,
  scriptedWorker,
  serverUnderTest,
} from '../support/server-under-test.js';

const open: ServerUnderTest[] = [];
afterEach(() => {
  for (const server of open.splice(0)) server.close();
});

const photoId = 'photo-0001';
const corrections: Corrections = {
  format: correctionsFormat,
  list: [{ id: 'c1', photo: photoId, kind: 'split', at: [1200.5, 800] }],
};

async function measuredTable(): Promise<{ server: ServerUnderTest; id: string; version: number }> {
  const server = await serverUnderTest({ workerPath: scriptedWorker });
  open.push(server);
  const { id } = await server.newTable('done');
  await server.send(id, photoId, 'done.jpg', Buffer.from('any bytes'));
  await server.ask('POST', `/api/tables/${id}/measure`);
  await server.workDone(id);
  return { server, id, version: await versionOf(server, id) };
}

type Answer = TableDocument & PhotoAnswer & { current: TableDocument };
interface Opened {
  readonly table: TableDocument;
  readonly stale: boolean;
  readonly work: WorkState;
}

const openedOf = async (server: ServerUnderTest, id: string): Promise<Opened> =>
  (await server.ask<Opened>('GET', `/api/tables/${id}`)).body;
const versionOf = async (server: ServerUnderTest, id: string): Promise<number> =>
  (await openedOf(server, id)).table.version;
const change = (server: ServerUnderTest, id: string, body: unknown) =>
  server.ask<Answer>('PATCH', `/api/tables/${id}`, body);

describe('corrections of a table', () => {
  it('are stored in the table’s folder and make a measured table be measured again by itself', async () => {
    const { server, id, version } = await measuredTable();
    const before = (await openedOf(server, id)).table.measuredInputs;
    const changed = await change(server, id, { version, corrections });
    expect(changed.status).toBe(200);
    const stored = JSON.parse(readFileSync(join(server.home, id, 'table.json'), 'utf8')) as TableDocument;
    expect(stored.corrections).toEqual(corrections);
    await server.workDone(id);
    const after = await openedOf(server, id);
    expect(after.stale).toBe(false);
    expect(after.table.measuredInputs?.slice(0, 16)).not.toBe(before?.slice(0, 16));
    // Undoing is a change like any other.
    await change(server, id, { version: after.table.version, corrections: noCorrections });
    await server.workDone(id);
    expect((await openedOf(server, id)).table.measuredInputs?.slice(0, 16)).toBe(before?.slice(0, 16));
  });

  it('reach the measuring with each photo by its file name, and stay when photos come and go', async () => {
    const { server, id, version } = await measuredTable();
    await change(server, id, { version, corrections });
    await server.workDone(id);
    const told = JSON.parse(readFileSync(server.toldFile, 'utf8')) as Corrections;
    expect(told.list).toEqual([{ ...corrections.list[0], photo: 'done.jpg' }]);
    await server.send(id, 'photo-0002', 'more.jpg', Buffer.from('any bytes'));
    expect((await openedOf(server, id)).table.corrections).toEqual(corrections);
    await server.ask('DELETE', `/api/tables/${id}/photos/${photoId}`);
    expect((await openedOf(server, id)).table.corrections).toEqual(corrections);
  });

  it('made on two devices at once are never overwritten: the later one is told', async () => {
    const { server, id, version } = await measuredTable();
    await change(server, id, { version, corrections });
    const theirs = { ...corrections, list: [{ ...corrections.list[0], id: 'c2' }] };
    const later = await change(server, id, { version, corrections: theirs });
    expect(later.status).toBe(409);
    expect(later.body.problem.code).toBe('changed-elsewhere');
    expect(later.body.current.corrections).toEqual(corrections);
    // Another part of the table may still be changed from the same version.
    expect((await change(server, id, { version, name: 'Attic' })).status).toBe(200);
  });

  it('that are no corrections are refused by the name of the field', async () => {
    const { server, id, version } = await measuredTable();
    for (const wrong of [
      { format: 'other', list: [] },
      { format: correctionsFormat, list: [{ id: 'c1', photo: photoId, kind: 'paint', at: [1, 2] }] },
      { format: correctionsFormat, list: [{ id: 'c1', photo: photoId, kind: 'not-track', area: [[1, 2]] }] },
      // A line across a billion pixels would be followed for ever.
      { format: correctionsFormat, list: [{ id: 'c1', photo: photoId, kind: 'split', at: [1e9, 2] }] },
    ]) {
      const answer = await change(server, id, { version, corrections: wrong });
      expect(answer.status).toBe(422);
      expect(answer.body.problem.code).toBe('bad-field');
      expect(String(answer.body.problem.data['field'])).toMatch(/^corrections/);
    }
  });

  it('do not start the first measurement of a table', async () => {
    const server = await serverUnderTest({ workerPath: scriptedWorker });
    open.push(server);
    const { id, version } = await server.newTable('done');
    await change(server, id, { version, corrections });
    expect((await openedOf(server, id)).work.status).toBe('none');
  });
});
