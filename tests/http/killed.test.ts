import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { readPlan, readReport } from '../../server/projects/measured-store.js';
import { photoPath } from '../../server/projects/photo-store.js';
import { TableStore } from '../../server/projects/table-store.js';
import { readWorkRecord } from '../../server/projects/work-record.js';
import { ovalReport } from '../support/bench-plans.js';
import { seededRandom } from '../support/seeded-random.js';

/** Some here, so that the whole suite stays short; KILLS=200 for the long run that DEVELOPERS.md reports. */
const kills = Number(process.env['KILLS'] ?? 25);
const seed = Number(process.env['SEED'] ?? 20261125);

const home = mkdtempSync(join(tmpdir(), 'gapwright-killed-'));
afterAll(() => rmSync(home, { recursive: true, force: true }));
const built = fileURLToPath(new URL('../../.build/server', import.meta.url));
const session = fileURLToPath(new URL('../support/workers/scripted-session.mjs', import.meta.url));

type Said =
  | { did: 'begun' }
  | { did: 'name'; name: string }
  | { did: 'photo'; photoId: string; digest: string }
  | { did: 'work'; since: string }
  | { did: 'measured'; mark: string }
  | { did: 'planned'; mark: string }
  | { did: 'removing' | 'removed'; photoId: string };

/** Lets the session work for a while and kills it. @returns what it said was stored */
function killedAfter(ms: number, tableId: string, reportFile: string): Promise<Said[]> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [session, built, home, tableId, reportFile], {
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    let text = '';
    let trouble = '';
    let killing = false;
    child.stderr.on('data', (chunk: Buffer) => {
      trouble += chunk.toString();
    });
    child.stdout.on('data', (chunk: Buffer) => {
      text += chunk.toString();
      if (!killing) setTimeout(() => child.kill('SIGKILL'), ms);
      killing = true;
    });
    child.on('close', () => {
      if (trouble !== '') reject(new Error(trouble));
      const whole = text.slice(0, text.lastIndexOf('\n') + 1);
      resolve(
        whole
          .split('\n')
          .filter((line) => line !== '')
          .map((line) => JSON.parse(line) as Said),
      );
    });
  });
}

const last = <D extends Said['did']>(all: readonly Said[], did: D) =>
  all.findLast((s): s is Extract<Said, { did: D }> => s.did === did);

describe('a program that is killed at any moment', () => {
  it(`opens again with everything that was acknowledged (${kills} times, seed ${seed})`, {
    timeout: 60_000 + kills * 6000,
  }, async () => {
    const reportFile = join(home, '.report.json');
    writeFileSync(reportFile, JSON.stringify(ovalReport([50.8])));
    const random = seededRandom(seed);
    const store = new TableStore(home);
    const made = await store.create('Killed');
    if (!made.ok) throw new Error(made.problem.code);
    const { id } = made.value;
    const photos = new Map<string, string>();
    const said: Said[] = [];
    for (let kill = 0; kill < kills; kill++) {
      const now = await killedAfter(Math.floor(random() * 160), id, reportFile);
      said.push(...now);
      for (const s of now) {
        if (s.did === 'photo') photos.set(s.photoId, s.digest);
        if (s.did === 'removing') photos.delete(s.photoId);
      }
      const opened = await store.open();
      expect(opened.ok).toBe(true);
      const table = await store.read(id);
      if (!table.ok) throw new Error(`after kill ${kill}: ${table.problem.code}`);

      // What was stored after the last acknowledged name may be there or not; an older one may not come back.
      const names = said.filter((s) => s.did === 'name').map((s) => s.name);
      expect(names.slice(0, -1), `name after kill ${kill}`).not.toContain(table.value.name);
      for (const [photoId, digest] of photos) {
        const photo = table.value.photos.find((p) => p.id === photoId);
        expect(photo, `photo ${photoId} after kill ${kill}`).toBeDefined();
        const bytes = readFileSync(photoPath(store, id, { id: photoId, format: 'jpeg' }));
        expect(createHash('sha256').update(bytes).digest('hex')).toBe(digest);
      }
      if (last(said, 'work')) expect(await readWorkRecord(store, id)).toMatchObject({ status: 'wanted' });
      const measured = last(said, 'measured');
      if (measured) {
        const report = await readReport(store, table.value);
        expect(report.ok, `report after kill ${kill}`).toBe(true);
        const mark = report.ok ? report.value.warnings[0]?.message : undefined;
        const plan = await readPlan(store, table.value);
        // The plan belongs to the report it was made from, or is not there yet.
        if (plan.ok && plan.value) expect(plan.value.warnings[0]?.message).toBe(mark);
        if (last(said, 'planned')?.mark === mark) expect(plan.ok && plan.value).not.toBeNull();
      }
      const left = readdirSync(join(home, id), { recursive: true }).filter((name) => String(name).endsWith('.part'));
      expect(left).toEqual([]);
    }
    expect(said.filter((s) => s.did !== 'begun').length).toBeGreaterThan(kills);
  });
});
