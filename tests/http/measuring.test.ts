import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import type { Report } from '../../server/contract/report.js';
import type { WorkState } from '../../server/contract/tables.js';
import {
  builtWorker,
  type PhotoAnswer,
  type ServerOptions,
  type ServerUnderTest,
  scriptedWorker,
  serverUnderTest,
} from '../support/server-under-test.js';

const open: ServerUnderTest[] = [];
afterEach(() => {
  for (const server of open.splice(0)) server.close();
});

async function newServer(options: ServerOptions = {}): Promise<ServerUnderTest> {
  const server = await serverUnderTest({ workerPath: scriptedWorker, ...options });
  open.push(server);
  return server;
}

/** A table with one photo whose name tells the scripted worker what to do. */
async function tableWith(server: ServerUnderTest, script: string): Promise<string> {
  const { id } = await server.newTable(script);
  await server.send(id, 'photo-0001', `${script}.jpg`, Buffer.from('any bytes'));
  return id;
}

const measure = (server: ServerUnderTest, id: string) =>
  server.ask<WorkState & PhotoAnswer>('POST', `/api/tables/${id}/measure`);

/** Collects what is told about a table until the work on it has ended. */
function statesUntilEnd(server: ServerUnderTest, id: string): Promise<WorkState[]> {
  return new Promise((resolve) => {
    const states: WorkState[] = [];
    const stop = server.events.listen(id, (event) => {
      if (event.kind !== 'work') return;
      states.push(event.state);
      if (event.state.status !== 'queued' && event.state.status !== 'running') {
        stop();
        resolve(states);
      }
    });
  });
}

describe('measuring a table', () => {
  it('goes from queued through the stages to done, and leaves report and plan view', async () => {
    const server = await newServer();
    const id = await tableWith(server, 'done');
    const states = statesUntilEnd(server, id);
    expect((await measure(server, id)).status).toBe(202);
    expect((await states).map((s) => (s.status === 'running' ? s.progress.stage : s.status))).toEqual([
      'queued',
      'photo',
      'markers',
      'done',
    ]);
    const opened = await server.ask<{ measured: boolean; stale: boolean }>('GET', `/api/tables/${id}`);
    expect(opened.body).toMatchObject({ measured: true, stale: false, work: { status: 'done' } });
    expect((await server.ask<Report>('GET', `/api/tables/${id}/report`)).body.format).toBe('gapwright-measurement/1');
    expect((await server.ask('GET', `/api/tables/${id}/plan-view`)).body).toMatchObject({ mmPerPx: 1 });
    const picture = await server.app.request(`/api/tables/${id}/plan-view.jpg`);
    expect(picture.headers.get('content-type')).toBe('image/jpeg');
    const etag = picture.headers.get('etag') ?? '';
    const again = await server.app.request(`/api/tables/${id}/plan-view.jpg`, { headers: { 'if-none-match': etag } });
    expect(again.status).toBe(304);
  });

  it('is refused for a table without photos, and nothing is there to read before it', async () => {
    const server = await newServer();
    const { id } = await server.newTable();
    const { status, body } = await measure(server, id);
    expect([status, body.problem.code]).toEqual([409, 'no-photos']);
    for (const what of ['report', 'plan-view', 'plan-view.jpg', 'plan', 'cut-sheet.pdf']) {
      const answer = await server.ask<PhotoAnswer>('GET', `/api/tables/${id}/${what}`);
      expect([what, answer.status, answer.body.problem.code]).toEqual([what, 409, 'nothing-measured']);
    }
  });

  it('says that the report is stale after the marker side or the photos were changed', async () => {
    const server = await newServer();
    const id = await tableWith(server, 'done');
    await measure(server, id);
    await server.workDone(id);
    const { table } = (await server.ask<{ table: { version: number } }>('GET', `/api/tables/${id}`)).body;
    await server.ask('PATCH', `/api/tables/${id}`, { version: table.version, settings: { unit: 'mm' } });
    expect((await server.ask('GET', `/api/tables/${id}`)).body).toMatchObject({ stale: false });
    await server.ask('PATCH', `/api/tables/${id}`, { version: table.version + 1, settings: { markerSideMm: 150 } });
    expect((await server.ask('GET', `/api/tables/${id}`)).body).toMatchObject({ measured: true, stale: true });
  });

  it.each([
    ['exit', 'work-failed'],
    ['kill', 'work-failed'],
    ['throw', 'work-failed'],
    ['blind', 'no-marker'],
  ])(
    'with a photo that makes the worker %s ends with %s, costs that table only and keeps the photo',
    async (script, code) => {
      const server = await newServer();
      const bad = await tableWith(server, script);
      const good = await tableWith(server, 'done');
      await measure(server, bad);
      await measure(server, good);
      expect(await server.workDone(bad)).toMatchObject({ status: 'failed', problem: { code } });
      expect(await server.workDone(good)).toEqual({ status: 'done' });
      expect(readFileSync(join(server.home, bad, 'photos/photo-0001.jpeg'), 'utf8')).toBe('any bytes');
    },
  );

  it('with a photo that hangs the worker is stopped after the time limit, and the next table is measured', async () => {
    const server = await newServer({ limitMs: 1000 });
    const bad = await tableWith(server, 'hang');
    const good = await tableWith(server, 'done');
    await measure(server, bad);
    await measure(server, good);
    expect(await server.workDone(bad)).toMatchObject({ status: 'failed', problem: { code: 'took-too-long' } });
    expect(await server.workDone(good)).toEqual({ status: 'done' });
  });

  it('that takes more memory than the computer is to give is ended with a sentence, and the photos stay', async () => {
    process.env['GAPWRIGHT_MEMORY_MB'] = '40';
    try {
      const server = await newServer({ workerPath: builtWorker });
      const { id } = await server.newTable('Large');
      const photo = readFileSync(join(import.meta.dirname, '../../samples/three-straights.jpg'));
      await server.send(id, 'photo-0001', 'large.jpg', photo);
      await measure(server, id);
      expect(await server.workDone(id)).toMatchObject({
        status: 'failed',
        problem: { code: 'too-much-memory', data: { megabytes: 40 } },
      });
      const table = await server.store.read(id);
      expect(table.ok && table.value.photos).toHaveLength(1);
    } finally {
      delete process.env['GAPWRIGHT_MEMORY_MB'];
    }
  });

  it('takes in what the user knows of the table: a tape of a side that cannot be used is named', async () => {
    const server = await newServer({ workerPath: builtWorker });
    const { id } = await server.newTable('Straights');
    const photo = readFileSync(join(import.meta.dirname, '../../samples/three-straights.jpg'));
    await server.send(id, 'photo-0001', 'straights.jpg', photo);
    // The photo shows one corner of the table; side A runs out of it.
    const settings = { sideChecks: [{ side: 'A', lengthMm: 1220 }], squareCorners: true };
    const { version } = (await server.ask<{ table: { version: number } }>('GET', `/api/tables/${id}`)).body.table;
    expect((await server.ask('PATCH', `/api/tables/${id}`, { version, settings })).status).toBe(200);
    await measure(server, id);
    expect(await server.workDone(id)).toEqual({ status: 'done' });
    const { warnings } = (await server.ask<Report>('GET', `/api/tables/${id}/report`)).body;
    expect(warnings.find((w) => w.code === 'tape-left-out')?.message).toMatch(/could not be used: A\./);
    expect(warnings.map((w) => w.code)).not.toContain('corner-not-square');
  });

  it('can be called off within a second even when the worker does not listen', async () => {
    const server = await newServer();
    const bad = await tableWith(server, 'hang');
    const good = await tableWith(server, 'done');
    await measure(server, bad);
    await measure(server, good);
    await new Promise((resume) => setTimeout(resume, 400));
    const start = performance.now();
    expect((await server.ask('DELETE', `/api/tables/${bad}/measure`)).body).toEqual({ status: 'cancelled' });
    const { work } = (await server.ask<{ work: WorkState }>('GET', `/api/tables/${good}`)).body;
    expect(work.status).not.toBe('queued');
    expect(performance.now() - start).toBeLessThan(1000);
    expect(await server.workDone(good)).toEqual({ status: 'done' });
    expect(await server.workDone(bad)).toEqual({ status: 'cancelled' });
  });

  it('of several tables goes in the order of asking, and tells each how many are ahead', async () => {
    const server = await newServer();
    const ids = [await tableWith(server, 'slow'), await tableWith(server, 'slow'), await tableWith(server, 'slow')];
    const ended: string[] = [];
    const all = ids.map(async (id) => {
      await statesUntilEnd(server, id);
      ended.push(id);
    });
    const answers: WorkState[] = [];
    for (const id of ids) answers.push((await measure(server, id)).body);
    expect(answers.map((a) => (a.status === 'queued' ? a.ahead : a.status))).toEqual(['running', 1, 2]);
    await Promise.all(all);
    expect(ended).toEqual(ids);
  });

  it('asked for twice is done once; asked for with other settings it begins anew', async () => {
    const server = await newServer();
    const id = await tableWith(server, 'slow');
    const states: WorkState[] = [];
    server.events.listen(id, (event) => event.kind === 'work' && states.push(event.state));
    await measure(server, id);
    await measure(server, id);
    expect(states.filter((s) => s.status === 'queued').length).toBe(1);
    await server.ask('PATCH', `/api/tables/${id}`, { version: 2, settings: { markerSideMm: 150 } });
    await measure(server, id);
    expect(await server.workDone(id)).toEqual({ status: 'done' });
    expect(states.filter((s) => s.status === 'queued').length).toBe(2);
    expect((await server.ask('GET', `/api/tables/${id}`)).body).toMatchObject({ stale: false });
  });

  it('goes on after the program was stopped and started again, and a failure is still told', async () => {
    const first = await newServer();
    const slow = await tableWith(first, 'slow');
    const queued = await tableWith(first, 'done');
    const failed = await tableWith(first, 'blind');
    await measure(first, failed);
    await first.workDone(failed);
    await measure(first, slow);
    await measure(first, queued);
    first.close(true);
    const second = await newServer({ home: first.home });
    await second.queue.resume();
    expect(await second.workDone(slow)).toEqual({ status: 'done' });
    expect(await second.workDone(queued)).toEqual({ status: 'done' });
    const told = { status: 'failed', problem: { code: 'no-marker' }, photos: ['photo-0001'] };
    expect(await first.workDone(failed)).toMatchObject(told);
    expect(await second.workDone(failed)).toMatchObject(told);
  });

  it('that took the program down three times is not begun a fourth time', async () => {
    const first = await newServer();
    const id = await tableWith(first, 'hang');
    await measure(first, id);
    let server = first;
    for (let starts = 0; starts < 3; starts++) {
      await new Promise((resume) => setTimeout(resume, 300));
      server.close(true);
      server = await newServer({ home: first.home });
      await server.queue.resume();
    }
    expect(await server.workDone(id)).toMatchObject({ status: 'failed', problem: { code: 'work-failed' } });
  });

  it('is told to everybody who listens: the state at once, then each change, and the new version', async () => {
    const server = await newServer();
    const id = await tableWith(server, 'done');
    const stream = await server.app.request(`/api/tables/${id}/events`);
    expect(stream.headers.get('content-type')).toContain('text/event-stream');
    const reader = (stream.body as ReadableStream<Uint8Array>)
      .pipeThrough(new TextDecoderStream() as unknown as ReadableWritablePair<string, Uint8Array>)
      .getReader();
    let text = (await reader.read()).value ?? '';
    expect(text).toContain('event: work\ndata: {"status":"none"}');
    await measure(server, id);
    while (!text.includes('"status":"done"')) text += (await reader.read()).value ?? '';
    expect(text).toMatch(/event: table\ndata: {"version":\d+}/);
    await reader.cancel();
  });
});
