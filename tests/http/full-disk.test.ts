import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type PhotoAnswer, type ServerUnderTest, serverUnderTest } from '../support/server-under-test.js';

const disk = mkdtempSync(join(tmpdir(), 'gapwright-disk-'));
/** A disk of one megabyte in memory; only root may make one, and not in every container. */
const canMount =
  process.platform === 'linux' &&
  process.getuid?.() === 0 &&
  spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=1m', 'tmpfs', disk]).status === 0;

let server: ServerUnderTest;
beforeAll(async () => {
  if (canMount) server = await serverUnderTest({ home: disk });
});
afterAll(() => {
  server?.close(true);
  if (canMount) spawnSync('umount', ['-l', disk]);
  rmSync(disk, { recursive: true, force: true });
});

describe.skipIf(!canMount)('a disk', () => {
  it('that is full is said so, loses nothing, and serves again when there is room', async () => {
    const table = await server.newTable('Attic');
    const small = await sharp({ create: { width: 300, height: 200, channels: 3, background: '#a98' } })
      .jpeg()
      .toBuffer();
    const kept = await server.send(table.id, 'photo-kept', 'kept.jpg', small);
    expect(kept.status).toBe(201);
    const before = await server.store.read(table.id);

    const big = await server.send(table.id, 'photo-big1', 'big.jpg', new Uint8Array(2 * 1024 * 1024));
    expect([big.status, big.body.problem]).toEqual([507, { code: 'cannot-write', data: { why: 'the disk is full' } }]);
    expect(big.body.text.nextStep).toContain('what was saved before is still there');

    fillUp();
    const version = before.ok ? before.value.version : 0;
    const changed = await server.ask<PhotoAnswer>('PATCH', `/api/tables/${table.id}`, {
      version,
      name: 'n'.repeat(80),
    });
    expect([changed.status, changed.body.problem.code]).toEqual([507, 'cannot-write']);
    expect(await server.store.read(table.id)).toEqual(before);
    const photo = await server.app.request(`/api/tables/${table.id}/photos/photo-kept/original`);
    expect(Buffer.from(await photo.arrayBuffer()).equals(small)).toBe(true);

    truncateSync(join(disk, 'filling'));
    const again = await server.ask('PATCH', `/api/tables/${table.id}`, { version, name: 'Room again' });
    expect(again.status).toBe(200);
  });

  it('that is read-only is said so, and everything on it can still be read', async () => {
    const table = await server.newTable('Read only');
    spawnSync('mount', ['-o', 'remount,ro', disk]);
    const changed = await server.ask<PhotoAnswer>('PATCH', `/api/tables/${table.id}`, { version: 1, name: 'B' });
    const made = await server.ask<PhotoAnswer>('POST', '/api/tables', {});
    const opened = await server.ask('GET', `/api/tables/${table.id}`);
    spawnSync('mount', ['-o', 'remount,rw', disk]);
    const why = { code: 'cannot-write', data: { why: 'the disk is read-only' } };
    expect([changed.status, changed.body.problem]).toEqual([507, why]);
    expect([made.status, made.body.problem]).toEqual([507, why]);
    expect(opened.status).toBe(200);
  });
});

/** Writes until not one byte more fits. */
function fillUp(): void {
  for (let bytes = 1024 * 1024; bytes >= 1; bytes = Math.floor(bytes / 2)) {
    for (;;) {
      try {
        writeFileSync(join(disk, 'filling'), new Uint8Array(bytes), { flag: 'a' });
      } catch {
        break;
      }
    }
  }
}
