import type { MiddlewareHandler } from 'hono';
import { problem } from '../contract/problems.js';
import { ProblemAnswer } from './answer.js';

/** Names by which the computer itself reaches the server. */
export const loopbackNames: readonly string[] = ['localhost', '127.0.0.1', '[::1]'];

/** The name in a Host header or an address, without port. */
function nameOf(host: string): string {
  return host.toLowerCase().replace(/:\d*$/, '');
}

/**
 * Answers only to the names given. A foreign name in the Host header means that some web site's name was pointed at this
 * computer to reach the server from a page of that site (DNS rebinding).
 */
export function onlyHosts(names: readonly string[]): MiddlewareHandler {
  return async (c, next) => {
    const host = c.req.header('host') ?? new URL(c.req.url).host;
    if (!names.includes(nameOf(host))) throw new ProblemAnswer(problem('foreign-host', { host: host.slice(0, 80) }));
    await next();
  };
}

/**
 * Refuses what a page of another origin makes the browser ask for: every change, and everything under /api. Browsers
 * send Origin with changes, and Sec-Fetch-Site (W3C Fetch Metadata) with everything; a program that sends neither is no
 * browser, and nobody is tricked by it.
 */
export const onlyOwnPage: MiddlewareHandler = async (c, next) => {
  const host = c.req.header('host') ?? new URL(c.req.url).host;
  const origin = c.req.header('origin');
  const site = c.req.header('sec-fetch-site');
  const reads = c.req.method === 'GET' || c.req.method === 'HEAD';
  const foreignOrigin = origin !== undefined && origin !== `http://${host}` && origin !== `https://${host}`;
  const foreignSite = site !== undefined && site !== 'same-origin' && site !== 'none';
  const guarded = !reads || c.req.path.startsWith('/api');
  if (guarded && (foreignOrigin || foreignSite)) throw new ProblemAnswer(problem('foreign-page', {}));
  await next();
};

/** Everything the page needs comes from this server; nothing may be run, framed or sent elsewhere. */
const contentPolicy = [
  "default-src 'none'",
  "script-src 'self'",
  "style-src 'self'",
  "img-src 'self' blob: data:",
  "font-src 'self'",
  "connect-src 'self'",
  "manifest-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
].join('; ');

/** Security headers on every answer. */
export const securityHeaders: MiddlewareHandler = async (c, next) => {
  await next();
  c.header('content-security-policy', contentPolicy);
  c.header('x-content-type-options', 'nosniff');
  c.header('x-frame-options', 'DENY');
  c.header('referrer-policy', 'no-referrer');
  c.header('cross-origin-opener-policy', 'same-origin');
  c.header('cross-origin-resource-policy', 'same-origin');
  c.header('permissions-policy', 'geolocation=(), microphone=(), payment=(), usb=()');
};
