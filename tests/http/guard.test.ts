import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type ServerUnderTest, scriptedWorker, serverUnderTest } from '../support/server-under-test.js';

let server: ServerUnderTest;
beforeAll(async () => {
  server = await serverUnderTest({ workerPath: scriptedWorker });
});
afterAll(() => server.close());

const status = async (method: string, path: string, headers: Record<string, string>): Promise<number> =>
  (await server.app.request(path, { method, headers })).status;

describe('the server', () => {
  it.each(['localhost', 'localhost:4870', '127.0.0.1:4870', '[::1]:4870', 'LOCALHOST:1'])(
    'answers to the host name %s',
    async (host) => {
      expect(await status('GET', '/api/health', { host })).toBe(200);
    },
  );

  it.each(['evil.example', 'localhost.evil.example', '127.0.0.1.evil.example:4870', '192.168.1.7', '0.0.0.0', ''])(
    'does not answer to the host name “%s”',
    async (host) => {
      expect(await status('GET', '/api/tables', { host })).toBe(421);
      expect(await status('GET', '/', { host })).toBe(421);
    },
  );

  it('refuses changes that a page of another origin sends', async () => {
    const host = 'localhost:4870';
    for (const origin of ['http://evil.example', 'http://localhost:9999', 'null', 'https://localhost']) {
      expect(await status('POST', '/api/tables', { host, origin }), origin).toBe(403);
    }
    expect(await status('POST', '/api/tables', { host, origin: 'http://localhost:4870' })).toBe(201);
  });

  it('refuses reads that a page of another site sends, pictures too', async () => {
    for (const site of ['cross-site', 'same-site']) {
      expect(await status('GET', '/api/tables', { 'sec-fetch-site': site })).toBe(403);
      expect(await status('POST', '/api/tables', { 'sec-fetch-site': site })).toBe(403);
    }
    for (const site of ['same-origin', 'none']) {
      expect(await status('GET', '/api/tables', { 'sec-fetch-site': site })).toBe(200);
    }
  });

  it('sends the security headers with every answer, errors too', async () => {
    for (const path of ['/', '/api/health', '/api/tables/none-such', '/nothing.js']) {
      const { headers } = await server.app.request(path);
      const policy = headers.get('content-security-policy') ?? '';
      expect(policy, path).toContain("default-src 'none'");
      expect(policy, path).toContain("frame-ancestors 'none'");
      expect(policy, path).not.toMatch(/unsafe|https?:|\*/);
      expect(headers.get('x-content-type-options'), path).toBe('nosniff');
      expect(headers.get('referrer-policy'), path).toBe('no-referrer');
      expect(headers.get('access-control-allow-origin'), path).toBeNull();
    }
  });

  it.each([
    '/..%2f..%2fpackage.json',
    '/%2e%2e/%2e%2e/package.json',
    '/..%5c..%5cpackage.json',
    '/assets/%00.js',
    '/%zz.js',
  ])('hands out no file beside the page for %s', async (path) => {
    const answer = await server.app.request(path);
    expect(answer.status).toBe(404);
    expect(await answer.text()).not.toContain('gapwright",');
  });

  it('says that there is nothing at an unknown address below /api, as JSON with a next step', async () => {
    const answer = await server.ask<{ problem: { code: string }; text: { nextStep: string } }>('GET', '/api/nothing');
    expect([answer.status, answer.body.problem.code]).toEqual([404, 'unknown-address']);
    expect(answer.body.text.nextStep).not.toBe('');
  });
});
