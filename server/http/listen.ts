import type { Server } from 'node:http';
import { serve } from '@hono/node-server';
import type { Hono } from 'hono';

/** The first port that is tried; no well-known service uses it. */
export const firstPort = 4870;
/** The last one. */
export const lastPort = 4890;

/**
 * Listens on the wished port, or on the first free one.
 * @param hostname address to listen on: 127.0.0.1 for this computer alone, 0.0.0.0 for the network too
 * @returns null when the port is in use, or none is free
 */
export async function listen(app: Hono, wished: number | null, hostname: string): Promise<Server | null> {
  const count = lastPort - firstPort + 1;
  const ports = wished === null ? Array.from({ length: count }, (_, i) => firstPort + i) : [wished];
  for (const port of ports) {
    try {
      return await listenOn(app, port, hostname);
    } catch (error) {
      const code = (error as NodeJS.ErrnoException).code;
      if (code !== 'EADDRINUSE' && code !== 'EACCES') throw error;
    }
  }
  return null;
}

function listenOn(app: Hono, port: number, hostname: string): Promise<Server> {
  return new Promise((resolve, reject) => {
    const serverOptions = { connectionsCheckingInterval: 2000 };
    const server = serve({ fetch: app.fetch, port, hostname, autoCleanupIncoming: true, serverOptions }, () =>
      resolve(server),
    ) as Server;
    server.once('error', reject);
    // Slow senders and floods of connections are held off; a photo over a weak radio link still has its minutes.
    server.headersTimeout = 8000;
    server.requestTimeout = 10 * 60_000;
    server.maxConnections = 200;
  });
}

/** The port that a server listens on. */
export function portOf(server: Server): number {
  const bound = server.address();
  if (typeof bound !== 'object' || bound === null) throw new Error('the server does not listen on a port');
  return bound.port;
}
