import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { connect, createServer, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { TableDocument } from '../../server/contract/tables.js';
import type { Started } from '../../server/main.js';

const home = mkdtempSync(join(tmpdir(), 'gapwright-socket-'));
// The built program: it looks for its worker beside itself.
const { startServer }: typeof import('../../server/main.js') = await import(
  fileURLToPath(new URL('../../.build/server/main.js', import.meta.url))
);

type Running = Extract<Started, { ok: true }>;
let server: Running;
let port: number;
beforeAll(async () => {
  server = await started({ port: 0 });
  port = Number(new URL(server.address).port);
});
afterAll(async () => {
  await server.close();
  rmSync(home, { recursive: true, force: true });
});

async function started(options: { port: number | null }): Promise<Running> {
  const outcome = await startServer({ ...options, home });
  if (!outcome.ok) throw new Error(outcome.line);
  return outcome;
}

/** Sends raw bytes and reads all that comes back. */
function raw(text: string): Promise<string> {
  return new Promise((resolve, reject) => {
    const socket: Socket = connect(port, '127.0.0.1', () => socket.write(text));
    let answer = '';
    socket.on('data', (chunk) => {
      answer += chunk.toString('latin1');
    });
    socket.on('close', () => resolve(answer));
    socket.on('error', reject);
  });
}

describe('the server on a real socket', () => {
  it('answers on the loopback address alone', async () => {
    expect(server.address).toMatch(/^http:\/\/127\.0\.0\.1:\d+\/$/);
    expect(await (await fetch(`${server.address}api/health`)).json()).toEqual({ ok: true });
  });

  it.each([
    'GET /../../../../etc/passwd HTTP/1.1',
    'GET //etc/passwd HTTP/1.1',
    'GET /assets/../../../package.json HTTP/1.1',
    'GET /api/tables/../../../etc/passwd HTTP/1.1',
  ])('hands out nothing for the raw line %s', async (line) => {
    const answer = await raw(`${line}\r\nHost: 127.0.0.1:${port}\r\nConnection: close\r\n\r\n`);
    expect(answer).toMatch(/^HTTP\/1\.1 (404|400|200)/);
    expect(answer).not.toMatch(/root:|"dependencies"/);
  });

  it('refuses a request that names another host, or none', async () => {
    expect(await raw('GET /api/tables HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n')).toMatch(
      /^HTTP\/1\.1 421/,
    );
    expect(await raw('GET /api/tables HTTP/1.1\r\nConnection: close\r\n\r\n')).toMatch(/^HTTP\/1\.1 4\d\d/);
  });

  it('takes the rest of a photo never sent as broken off, and keeps nothing of it', async () => {
    const table = (await (await fetch(`${server.address}api/tables`, { method: 'POST' })).json()) as TableDocument;
    const head = `PUT /api/tables/${table.id}/photos/broken-off-1?name=a.jpg HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nContent-Length: 900000\r\n\r\n`;
    const socket = connect(port, '127.0.0.1', () => socket.write(head + 'x'.repeat(50_000), () => socket.destroy()));
    const photos = join(home, table.id, 'photos');
    await expect.poll(() => readdirSync(photos)).toEqual([]);
    const { table: after } = (await (await fetch(`${server.address}api/tables/${table.id}`)).json()) as {
      table: TableDocument;
    };
    expect(after.photos).toEqual([]);
    expect((await fetch(`${server.address}api/health`)).status).toBe(200);
  });

  it('puts off a sender that never ends the head of its request, and serves the others meanwhile', async () => {
    const begin = performance.now();
    const slow = raw(`GET /api/health HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nX-Slow: `);
    expect((await fetch(`${server.address}api/health`)).status).toBe(200);
    expect(await slow).toMatch(/^$|^HTTP\/1\.1 408/);
    expect(performance.now() - begin).toBeLessThan(15_000);
  });

  it('takes no more than 200 connections at once, and serves again when they are gone', async () => {
    const sockets = await Promise.all(
      Array.from(
        { length: 260 },
        () =>
          new Promise<Socket>((resolve) => {
            const socket = connect(port, '127.0.0.1', () => resolve(socket));
            socket.on('error', () => resolve(socket));
          }),
      ),
    );
    // Those beyond the limit are closed at once.
    await expect
      .poll(() => sockets.filter((s) => s.closed || s.readableEnded || s.destroyed).length)
      .toBeGreaterThan(40);
    for (const socket of sockets) socket.destroy();
    await expect
      .poll(() =>
        fetch(`${server.address}api/health`).then(
          (a) => a.status,
          () => 0,
        ),
      )
      .toBe(200);
  });

  it('takes the next free port when the first is in use, and says so when the asked one is', async () => {
    const blocker = createServer();
    await new Promise<void>((resolve) =>
      blocker.once('error', () => resolve()).listen(4870, '127.0.0.1', () => resolve()),
    );
    const other = await started({ port: null });
    expect(Number(new URL(other.address).port)).toBeGreaterThan(4870);
    await other.close();
    const refused = await startServer({ port, home });
    expect(refused).toMatchObject({ ok: false });
    expect(!refused.ok && refused.line).toContain(`Port ${port} is in use`);
    await new Promise((done) => blocker.close(done));
  });

  it('tells what happens to a table over the stream of events', async () => {
    const table = (await (await fetch(`${server.address}api/tables`, { method: 'POST' })).json()) as TableDocument;
    const stream = await fetch(`${server.address}api/tables/${table.id}/events`);
    const reader = (stream.body as ReadableStream<Uint8Array>)
      .pipeThrough(new TextDecoderStream() as unknown as ReadableWritablePair<string, Uint8Array>)
      .getReader();
    let text = (await reader.read()).value ?? '';
    await fetch(`${server.address}api/tables/${table.id}`, {
      method: 'PATCH',
      body: JSON.stringify({ version: table.version, name: 'Heard of' }),
    });
    while (!text.includes('event: table')) text += (await reader.read()).value ?? '';
    expect(text).toContain('data: {"version":2}');
    await reader.cancel();
  });
});
