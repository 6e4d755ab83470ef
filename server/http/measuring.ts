import { Hono } from 'hono';
import { streamSSE } from 'hono/streaming';
import { problem } from '../contract/problems.js';
import type { TableEvent } from '../jobs/table-events.js';
import { readPlanView, readPlanViewJpeg, readReport, readReportBefore } from '../projects/measured-store.js';
import { orAnswer, ProblemAnswer } from './answer.js';
import type { Services } from './services.js';

/** A line now and then keeps routers and browsers from dropping a quiet stream, milliseconds. */
const heartbeatMs = 20_000;

/** Measuring a table: ask, call off, follow, and what came out. */
export function measuring({ store, queue, events, planner }: Services): Hono {
  return new Hono()
    .post('/:id/measure', async (c) => c.json(orAnswer(await queue.request(c.req.param('id'))), 202))
    .delete('/:id/measure', async (c) => c.json(orAnswer(await queue.cancel(c.req.param('id')))))
    .get('/:id/events', async (c) => {
      const table = orAnswer(await store.read(c.req.param('id')));
      return streamSSE(c, async (stream) => {
        const write = (event: TableEvent): void => {
          const data = event.kind === 'work' ? event.state : { version: event.version };
          stream.writeSSE({ event: event.kind, data: JSON.stringify(data) }).catch(() => stream.abort());
        };
        const stop = events.listen(table.id, write);
        const closed = new Promise<void>((resolve) => stream.onAbort(resolve));
        const heartbeat = setInterval(() => stream.write(': \n\n').catch(() => stream.abort()), heartbeatMs);
        try {
          write({ kind: 'work', state: await queue.state(table) });
          await closed;
        } finally {
          stop();
          clearInterval(heartbeat);
        }
      });
    })
    .get('/:id/report', async (c) => {
      const report = orAnswer(await readReport(store, orAnswer(await store.read(c.req.param('id')))));
      planner.getReady();
      return c.json(report);
    })
    .get('/:id/report-before', async (c) =>
      c.json({ report: await readReportBefore(store, orAnswer(await store.read(c.req.param('id')))) }),
    )
    .get('/:id/coverage', async (c) => {
      const report = orAnswer(await readReport(store, orAnswer(await store.read(c.req.param('id')))));
      if (report.coverage) return c.json(report.coverage);
      throw new ProblemAnswer(problem('no-table-edge', { name: report.photos.map((p) => p.file).join(', ') }));
    })
    .get('/:id/plan-view', async (c) =>
      c.json(orAnswer(await readPlanView(store, orAnswer(await store.read(c.req.param('id')))))),
    )
    .get('/:id/plan-view.jpg', async (c) => {
      const table = orAnswer(await store.read(c.req.param('id')));
      const etag = `"${table.measuredInputs}"`;
      if (c.req.header('if-none-match') === etag) return c.body(null, 304);
      const jpeg = orAnswer(await readPlanViewJpeg(store, table));
      return c.body(new Uint8Array(jpeg), 200, { 'content-type': 'image/jpeg', 'cache-control': 'no-cache', etag });
    });
}
