import { existsSync, mkdirSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { AxeBuilder } from '@axe-core/playwright';
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core';

const root = fileURLToPath(new URL('../..', import.meta.url));
const pictures = join(root, '.test-output');

/** The two sizes at which every task is tried: a phone held upright, and a desk. */
export const sizes = [
  { name: 'phone', width: 390, height: 844, phone: true },
  { name: 'desk', width: 1440, height: 900, phone: false },
] as const;
export type ScreenSize = (typeof sizes)[number];

/** The first installed Chromium, or null: browser tests are then skipped, and say so. */
export function findChromium(): string | null {
  const named = ['chromium', 'chromium-browser', 'google-chrome'];
  const folders = ['/usr/bin', ...(process.env['PATH'] ?? '').split(':')];
  const paths = folders.flatMap((folder) => named.map((name) => join(folder, name)));
  return paths.find((path) => existsSync(path)) ?? null;
}

export interface RunningServer {
  readonly address: string;
  readonly home: string;
  stop(): Promise<void>;
}

/** Starts the built server with a home folder of its own on a free port. */
export async function startBuiltServer(home?: string, port = 0): Promise<RunningServer> {
  const folder = home ?? (await mkdtemp(join(tmpdir(), 'gapwright-page-')));
  const main = (await import(join(root, '.build/server/main.js'))) as typeof import('../../server/main.js');
  const started = await main.startServer({ port, home: folder });
  if (!started.ok) throw new Error(started.line);
  return {
    address: started.address,
    home: folder,
    async stop() {
      await started.close();
      if (home === undefined) await rm(folder, { recursive: true, force: true });
    },
  };
}

/** Starts Chromium so that it asks nobody but the server under test. */
export function startBrowser(): Promise<Browser> {
  const quiet = ['--disable-background-networking', '--disable-component-update', '--disable-sync', '--disable-quic'];
  const args = ['--no-sandbox', '--disable-gpu', '--no-first-run', ...quiet];
  return chromium.launch({ executablePath: findChromium() ?? undefined, args });
}

/** A page at one size, with everything recorded that must not happen: foreign requests, errors, refused scripts. */
export interface WatchedPage {
  readonly page: Page;
  readonly context: BrowserContext;
  readonly foreign: string[];
  readonly errors: string[];
}

export async function openPage(
  browser: Browser,
  address: string,
  size: ScreenSize,
  more: { colorScheme?: 'light' | 'dark'; reducedMotion?: 'reduce' } = {},
): Promise<WatchedPage> {
  const context = await browser.newContext({
    viewport: { width: size.width, height: size.height },
    hasTouch: size.phone,
    isMobile: size.phone,
    deviceScaleFactor: size.phone ? 2 : 1,
    acceptDownloads: true,
    ...more,
  });
  const page = await context.newPage();
  const foreign: string[] = [];
  const errors: string[] = [];
  const own = new URL(address).host;
  page.on('request', (request) => {
    const url = new URL(request.url());
    if (!['data:', 'blob:'].includes(url.protocol) && url.host !== own) foreign.push(request.url());
  });
  page.on('pageerror', (error) => errors.push(String(error)));
  page.on('console', (message) => {
    if (message.type() === 'error' && !/Failed to load resource/.test(message.text())) errors.push(message.text());
  });
  await page.goto(address);
  return { page, context, foreign, errors };
}

/** Keeps a picture of the screen, to be looked at. */
export async function keepPicture(page: Page, size: ScreenSize, name: string, fullPage = false): Promise<void> {
  mkdirSync(pictures, { recursive: true });
  await page.screenshot({ path: join(pictures, `${name}-${size.name}.png`), fullPage });
}

/** What axe finds against WCAG 2.2 AA, one line each. */
export async function violations(page: Page): Promise<string[]> {
  const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
  const result = await new AxeBuilder({ page }).withTags(tags).analyze();
  return result.violations.flatMap((v) =>
    v.nodes.map((n) => `${v.id}: ${n.target.join(' ')} ${n.failureSummary ?? ''}`),
  );
}

/** A picture for a test to upload. */
export function samplePhoto(name: string): string {
  return join(root, 'samples', `${name}.jpg`);
}
