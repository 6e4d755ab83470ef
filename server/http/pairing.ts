/// <reference path="./qrcode.d.ts" />
import { type Context, Hono, type MiddlewareHandler } from 'hono';
import { getCookie, setCookie } from 'hono/cookie';
import qrcode from 'qrcode';
import { z } from 'zod';
import { problem } from '../contract/problems.js';
import type { DeviceStore } from '../projects/device-store.js';
import { orAnswer, ProblemAnswer } from './answer.js';
import type { PairingCode } from './pairing-code.js';
import { pairingPage, pairingScript } from './pairing-page.js';
import { checked, readJson } from './read-json.js';

const cookieName = 'gapwright-device';

/** What pairing works with; null where the home network is not let in. */
export interface HomeNetwork {
  readonly code: PairingCode;
  readonly devices: DeviceStore;
  /** The server's address as other devices reach it, such as http://192.168.1.20:4870/; null when there is no network. */
  readonly address: () => string | null;
}

/** Whether a request comes from the computer itself; what cannot be told counts as from elsewhere. */
function isFromThisComputer(c: Context): boolean {
  const incoming = (c.env as { incoming?: { socket?: { remoteAddress?: string } } } | undefined)?.incoming;
  return /^(127\.|::1$|::ffff:127\.)/.test(incoming?.socket?.remoteAddress ?? '');
}

/** Lets in the computer itself and paired devices; anybody else gets the page that asks for the code, and nothing else. */
export function onlyPaired({ devices }: HomeNetwork): MiddlewareHandler {
  return async (c, next) => {
    const open = c.req.path === '/pair' || c.req.path === '/pair.js';
    if (open || isFromThisComputer(c) || devices.knows(getCookie(c, cookieName) ?? '')) return next();
    if (c.req.method === 'GET' && !c.req.path.startsWith('/api')) return c.redirect('/pair');
    throw new ProblemAnswer(problem('not-paired', {}));
  };
}

const pairSchema = z.object({ code: z.string().max(40) });

/** Pairing: the page and its script for the new device; code, QR and list of devices for those that are in already. */
export function pairing(home: HomeNetwork | null): Hono {
  const app = new Hono();
  app.get('/api/pairing', async (c) => {
    if (home === null) return c.json({ on: false });
    const { code, until } = home.code.current();
    const address = home.address();
    const qrSvg = address && (await qrcode.toString(`${address}pair#${code}`, { type: 'svg', margin: 2 }));
    return c.json({ on: true, code, until, address, qrSvg });
  });
  if (home === null) return app;
  const { devices } = home;
  app.get('/pair', (c) => c.html(pairingPage));
  app.get('/pair.js', (c) => c.body(pairingScript, 200, { 'content-type': 'text/javascript; charset=utf-8' }));
  app.post('/pair', async (c) => {
    const { code } = checked(pairSchema, await readJson(c));
    const outcome = home.code.try(code);
    if (outcome !== 'paired')
      throw new ProblemAnswer(problem(outcome === 'wait' ? 'pairing-paused' : 'wrong-code', {}));
    const token = orAnswer(await devices.add(deviceName(c.req.header('user-agent') ?? '')));
    // Not marked as secure: within the home there is no certificate, and the browser would not send it back.
    setCookie(c, cookieName, token, { httpOnly: true, sameSite: 'Strict', path: '/', maxAge: 90 * 24 * 3600 });
    return c.json({ ok: true });
  });
  app.get('/api/devices', (c) => c.json({ devices: devices.list() }));
  app.delete('/api/devices/:id', async (c) => {
    orAnswer(await devices.remove(c.req.param('id')));
    return c.body(null, 204);
  });
  return app;
}

/** What is printed when the server starts: where other devices go, the code, and both as a picture for the phone. */
export async function pairingNote({ code, address }: HomeNetwork): Promise<string> {
  const { code: digits } = code.current();
  const where = address();
  if (where === null) return 'This computer is in no home network just now, so no other device can reach it.\n';
  const picture = await qrcode.toString(`${where}pair#${digits}`, { type: 'utf8', margin: 2 });
  return `
Other devices in this network: open ${where} and type ${digits}, or point the phone’s camera at this:
${picture}
The digits let one device in and hold for ten minutes; the page shows new ones. Turn this on only in a network that
you trust: what is sent is not encrypted.
`;
}

/** What a device calls itself, in two words: enough to tell the phone from the tablet in the list. */
function deviceName(userAgent: string): string {
  const system = /iPhone|iPad|Android|Windows|Macintosh|Linux|CrOS/.exec(userAgent)?.[0] ?? 'device';
  const browser = /Firefox|Edg|OPR|Chrome|Safari/.exec(userAgent)?.[0] ?? '';
  const names: Readonly<Record<string, string>> = { Macintosh: 'Mac', CrOS: 'Chromebook', Edg: 'Edge', OPR: 'Opera' };
  return [system, browser]
    .filter((word) => word !== '')
    .map((word) => names[word] ?? word)
    .join(', ');
}
