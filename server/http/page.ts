import { readFile, stat } from 'node:fs/promises';
import { extname, join, resolve, sep } from 'node:path';
import { Hono } from 'hono';
import { problem } from '../contract/problems.js';
import { ProblemAnswer } from './answer.js';

const types: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.jpg': 'image/jpeg',
  '.ico': 'image/x-icon',
  '.json': 'application/json',
  '.webmanifest': 'application/manifest+json',
  '.woff2': 'font/woff2',
  '.woff': 'font/woff',
  '.ttf': 'font/ttf',
  '.txt': 'text/plain; charset=utf-8',
};

/** The built page. Addresses without an ending are places within the page; those with one are files, or not there. */
export function page(pageFolder: string): Hono {
  const folder = resolve(pageFolder);
  return new Hono().get('*', async (c) => {
    const path = c.req.path === '/' ? '/index.html' : c.req.path;
    const file = (await fileWithin(folder, path)) ?? (extname(path) === '' ? join(folder, 'index.html') : null);
    const type = file === null ? undefined : types[extname(file)];
    const content = file !== null && type !== undefined ? await readFile(file).catch(() => null) : null;
    if (content === null || type === undefined)
      throw new ProblemAnswer(problem('unknown-address', { path: path.slice(0, 80) }));
    // Vite puts a digest into the names of what it builds.
    const kept = path.startsWith('/assets/') ? 'public, max-age=31536000, immutable' : 'no-cache';
    return c.body(new Uint8Array(content), 200, { 'content-type': type, 'cache-control': kept });
  });
}

/** The file that a path of an address names, or null where it is none or lies outside the folder. */
async function fileWithin(folder: string, path: string): Promise<string | null> {
  let decoded: string;
  try {
    decoded = decodeURIComponent(path);
  } catch {
    return null;
  }
  if (/[\0\\]/.test(decoded)) return null;
  const file = resolve(folder, `.${decoded}`);
  if (!file.startsWith(folder + sep)) return null;
  return (await stat(file).catch(() => null))?.isFile() ? file : null;
}
