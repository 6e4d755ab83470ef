import { writeFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Coverage } from '../../server/contract/coverage.js';
import { ovalReport } from '../support/bench-plans.js';
import { madeCoverage } from '../support/made-coverage.js';
import {
  type PhotoAnswer,
  type ServerUnderTest,
  scriptedWorker,
  serverUnderTest,
} from '../support/server-under-test.js';

const coverage = madeCoverage(1830, 1220, [900, 650]);
let server: ServerUnderTest;
let id = '';

async function measured(report: unknown): Promise<void> {
  server = await serverUnderTest({ workerPath: scriptedWorker });
  writeFileSync(String(process.env['REPORT_OF_SCRIPTED_WORKER']), JSON.stringify(report));
  id = (await server.newTable('Attic “east”')).id;
  await server.send(id, 'photo-0001', 'done.jpg', Buffer.from('any bytes'));
  await server.ask('POST', `/api/tables/${id}/measure`);
  await server.workDone(id);
}

describe('the coverage of a measured table', () => {
  beforeAll(() => measured({ ...ovalReport([50.8]), coverage }));
  afterAll(() => server.close());

  it('has an address of its own, and is part of the report', async () => {
    const { status, body } = await server.ask<Coverage>('GET', `/api/tables/${id}/coverage`);
    expect([status, body]).toEqual([200, coverage]);
    const report = await server.ask<{ coverage: Coverage }>('GET', `/api/tables/${id}/report`);
    expect(report.body.coverage).toEqual(coverage);
  });

  it('is to be had as a drawing in the unit of the table, and in numbers', async () => {
    const drawing = await server.app.request(`/api/tables/${id}/coverage.svg?unit=in`);
    expect(drawing.headers.get('content-type')).toBe('image/svg+xml');
    const svg = await drawing.text();
    expect(svg).toContain('good to ± 1/32 in');
    expect(svg).toContain('Put one more marker sheet near the right end of side B');
    const numbers = await server.app.request(`/api/tables/${id}/coverage.csv`);
    const rows = (await numbers.text()).trim().split(/\r?\n/);
    expect(rows).toHaveLength(1 + 1 + 2 + coverage.cells.length);
  });
});

describe('a measurement without a table edge', () => {
  beforeAll(() => measured(ovalReport([50.8])));
  afterAll(() => server.close());

  it('says that the edge was not found and what to do, instead of an empty picture', async () => {
    const { status, body } = await server.ask<PhotoAnswer>('GET', `/api/tables/${id}/coverage`);
    expect([status, body.problem.code]).toEqual([422, 'no-table-edge']);
    expect(body.text.nextStep).toMatch(/from higher up/);
  });
});
