import { Hono } from 'hono';
import { problem } from '../contract/problems.js';
import { answerProblem, ProblemAnswer } from './answer.js';
import { onlyHosts, onlyOwnPage, securityHeaders } from './guard.js';
import { markerSheets } from './marker-sheets.js';
import { measuring } from './measuring.js';
import { page } from './page.js';
import { type HomeNetwork, onlyPaired, pairing } from './pairing.js';
import { photos } from './photos.js';
import { planning } from './planning.js';
import type { Services } from './services.js';
import { tables } from './tables.js';

/**
 * Everything that the server answers: a sub-app for each resource, the page for the rest, one handler for problems.
 * @param hostNames the names that it answers to, as they stand in a Host header, without port
 * @param home given where other devices on the home network are let in
 */
export function createApp(services: Services, hostNames: readonly string[], home: HomeNetwork | null = null): Hono {
  const app = new Hono();
  app.onError((error, c) => answerProblem(c, error));
  app.use(securityHeaders, onlyHosts(hostNames), onlyOwnPage);
  if (home !== null) app.use(onlyPaired(home));
  app.use('/api/*', async (c, next) => {
    await next();
    if (!c.res.headers.has('cache-control')) c.header('cache-control', 'no-store');
  });
  app.get('/api/health', (c) => c.json({ ok: true }));
  app.route('/api/tables', tables(services));
  app.route('/api/tables', photos(services));
  app.route('/api/tables', measuring(services));
  app.route('/api/tables', planning(services));
  app.route('/api', markerSheets());
  app.route('/', pairing(home));
  app.all('/api/*', (c) => {
    throw new ProblemAnswer(problem('unknown-address', { path: c.req.path.slice(0, 80) }));
  });
  app.route('/', page(services.pageFolder));
  app.notFound((c) =>
    answerProblem(c, new ProblemAnswer(problem('unknown-address', { path: c.req.path.slice(0, 80) }))),
  );
  return app;
}
