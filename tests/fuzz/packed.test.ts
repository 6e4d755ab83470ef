import { readdirSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { mutateBytes } from '../support/mutate-bytes.js';
import { mutateJson } from '../support/mutate-json.js';
import { seededRandom } from '../support/seeded-random.js';
import {
  type PhotoAnswer,
  type ServerUnderTest,
  scriptedWorker,
  serverUnderTest,
} from '../support/server-under-test.js';
import { zipOf } from '../support/zip-of.js';

/** A few in `npm test`; `npm run fuzz` asks for many. */
const count = Number(process.env['FUZZ'] ?? 250);
const seed = Number(process.env['SEED'] ?? 1);

let server: ServerUnderTest;
beforeAll(async () => {
  server = await serverUnderTest({ workerPath: scriptedWorker });
});
afterAll(() => server.close());

describe(`packed tables that went wrong (${count}, seed ${seed})`, { timeout: 60_000 + count * 400 }, () => {
  it('become a table or are refused with a sentence, and leave nothing half done', async () => {
    const table = await server.newTable('Fuzz');
    const photos = [{ id: 'photo-0001', name: 'a.jpg', format: 'jpeg', bytes: 9, widthPx: 4, heightPx: 3, added: '' }];
    const outcomes: Record<string, number> = {};
    for (let i = 0; i < count; i++) {
      const random = seededRandom(seed * 3_000_017 + i);
      const bad = random() < 0.5;
      const document = bad ? mutateJson({ ...table, photos }, random) : { ...table, photos };
      const json = Buffer.from(JSON.stringify(document) ?? '');
      const whole = await zipOf({ 't/table.json': json, 't/photos/photo-0001.jpeg': Buffer.from('any bytes') });
      const bytes = bad ? whole : mutateBytes(whole, whole, random);
      const answer = await server.app.request('/api/tables/packed', { method: 'POST', body: new Uint8Array(bytes) });
      const body = (await answer.json()) as PhotoAnswer;
      const what = `case ${i} of seed ${seed}: ${JSON.stringify(body)}`;
      expect(answer.status, what).toBeLessThan(500);
      if (answer.status === 201) await server.ask('DELETE', `/api/tables/${body.id}`);
      else expect(body.text.nextStep.length, what).toBeGreaterThan(5);
      const outcome = answer.status === 201 ? 'opened' : body.problem.code;
      outcomes[outcome] = (outcomes[outcome] ?? 0) + 1;
    }
    const left = readdirSync(server.home).filter((name) => !name.includes('scripted-worker'));
    expect(left).toEqual([table.id]);
    console.log('packed tables:', JSON.stringify(outcomes));
    expect(Object.keys(outcomes).length).toBeGreaterThan(2);
    expect(outcomes['opened'] ?? 0).toBeGreaterThan(0);
  });
});
