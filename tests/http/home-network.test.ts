import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { PairingCode } from '../../server/http/pairing-code.js';
import { DeviceStore } from '../../server/projects/device-store.js';
import { type ServerUnderTest, scriptedWorker, serverUnderTest } from '../support/server-under-test.js';

const here = '127.0.0.1';
const phone = '192.168.1.33';
const host = '192.168.1.20:4870';

let server: ServerUnderTest;
let devices: DeviceStore;
const code = new PairingCode();
beforeAll(async () => {
  server = await serverUnderTest({
    workerPath: scriptedWorker,
    hostNames: ['localhost', '192.168.1.20'],
    homeNetwork: (home) => {
      devices = new DeviceStore(join(home, 'devices.json'));
      return { code, devices, address: () => `http://${host}/` };
    },
  });
});
afterAll(() => server.close());

/** Asks as a device with that address would. */
function ask(
  from: string,
  method: string,
  path: string,
  more: { body?: string; cookie?: string } = {},
): Promise<Response> {
  const headers = { host, ...(more.cookie ? { cookie: more.cookie } : {}) };
  const env = { incoming: { socket: { remoteAddress: from } } };
  return Promise.resolve(server.app.request(path, { method, headers, body: more.body }, env));
}

const pair = (digits: string) => ask(phone, 'POST', '/pair', { body: JSON.stringify({ code: digits }) });
const cookieOf = (answer: Response): string => (answer.headers.get('set-cookie') ?? '').split(';')[0] ?? '';

describe('with the home network let in', () => {
  it('a device that is not paired reads nothing and changes nothing', async () => {
    for (const path of [
      '/api/tables',
      '/api/health',
      '/api/pairing',
      '/api/devices',
      '/api/tables/x/photos/y/original',
    ]) {
      expect((await ask(phone, 'GET', path)).status, path).toBe(401);
    }
    for (const method of ['POST', 'PUT', 'PATCH', 'DELETE']) {
      expect((await ask(phone, method, '/api/tables')).status, method).toBe(401);
    }
    for (const path of ['/', '/index.html', '/assets/main.js']) {
      const answer = await ask(phone, 'GET', path);
      expect([answer.status, answer.headers.get('location')], path).toEqual([302, '/pair']);
    }
  });

  it('an address that cannot be told counts as from elsewhere', async () => {
    const answer = await server.app.request('/api/tables', { headers: { host } });
    expect(answer.status).toBe(401);
  });

  it('the computer itself needs no code', async () => {
    for (const address of [here, '::1', '::ffff:127.0.0.1']) {
      expect((await ask(address, 'GET', '/api/tables')).status).toBe(200);
    }
    expect((await ask('1127.0.0.1', 'GET', '/api/tables')).status).toBe(401);
  });

  it('a device with the code is let in, keeps its session over a restart, and can be put out again', async () => {
    const {
      code: digits,
      qrSvg,
      address,
    } = (await (await ask(here, 'GET', '/api/pairing')).json()) as Record<string, string>;
    expect(address).toBe(`http://${host}/`);
    expect(qrSvg).toMatch(/^<svg/);
    const answer = await pair(digits as string);
    expect(answer.status).toBe(200);
    expect(answer.headers.get('set-cookie')).toMatch(/HttpOnly.*SameSite=Strict/);
    const cookie = cookieOf(answer);
    expect((await ask(phone, 'GET', '/api/tables', { cookie })).status).toBe(200);
    expect((await ask(phone, 'GET', '/api/tables', { cookie: `${cookie}x` })).status).toBe(401);

    const token = cookie.split('=')[1] as string;
    expect(readFileSync(join(server.home, 'devices.json'), 'utf8')).not.toContain(token);
    const afterRestart = new DeviceStore(join(server.home, 'devices.json'));
    await afterRestart.open();
    expect(afterRestart.knows(token)).toBe(true);

    const { devices: list } = (await (await ask(here, 'GET', '/api/devices')).json()) as { devices: { id: string }[] };
    expect((await ask(here, 'DELETE', `/api/devices/${list[0]?.id}`)).status).toBe(204);
    expect((await ask(phone, 'GET', '/api/tables', { cookie })).status).toBe(401);
  });

  it('wrong digits are refused with a sentence, and too many of them close the door for a minute', async () => {
    const answers: number[] = [];
    for (let i = 0; i < 9; i++) {
      const wrong = String((Number(code.current().code) + 1) % 1_000_000).padStart(6, '0');
      answers.push((await pair(wrong)).status);
    }
    expect(answers).toEqual([403, 403, 403, 403, 403, 403, 403, 403, 429]);
    expect((await pair(code.current().code)).status).toBe(429);
  });

  it('a foreign page cannot try digits in somebody’s browser', async () => {
    const answer = await server.app.request('/pair', {
      method: 'POST',
      headers: { host, origin: 'http://evil.example' },
      body: '{"code":"123456"}',
    });
    expect(answer.status).toBe(403);
    expect(((await answer.json()) as { problem: { code: string } }).problem.code).toBe('foreign-page');
  });

  it('the page that asks for the digits keeps the content policy', async () => {
    const page = await (await ask(phone, 'GET', '/pair')).text();
    expect(page).not.toMatch(/<script(?! src="\/pair\.js")|<style|style=|onclick|https?:/);
    expect((await ask(phone, 'GET', '/pair.js')).headers.get('content-type')).toContain('text/javascript');
  });
});

describe('without the home network', () => {
  it('pairing is off', async () => {
    const alone = await serverUnderTest({ workerPath: scriptedWorker });
    expect((await alone.ask('GET', '/api/pairing')).body).toEqual({ on: false });
    expect((await alone.app.request('/pair', { method: 'POST' })).status).toBe(404);
    alone.close();
  });
});
