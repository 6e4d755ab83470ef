import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { putMeasuredTable } from '../support/measured-table.js';
import {
  findChromium,
  keepPicture,
  openPage,
  type RunningServer,
  samplePhoto,
  sizes,
  startBrowser,
  startBuiltServer,
} from '../support/page-under-test.js';
import { sceneTruth } from '../support/scene-truth.js';

const truth = sceneTruth('birch-oval');
const desk = sizes[1];
const phone = sizes[0];

describe.skipIf(!truth || !findChromium())('interruptions', () => {
  let home = '';
  let server: RunningServer;
  let browser: Browser;

  beforeAll(async () => {
    home = await mkdtemp(join(tmpdir(), 'gapwright-break-'));
    server = await startBuiltServer(home);
    browser = await startBrowser();
  });

  afterAll(async () => {
    await browser?.close();
    await server?.stop();
    await rm(home, { recursive: true, force: true });
  });

  async function tableWithTruth(): Promise<string> {
    if (!truth) throw new Error('no truth');
    return putMeasuredTable(home, 'Larkspur Lane', truth, 'birch-oval');
  }

  test('until the script of the page has come over a slow line, the page says that it opens', async () => {
    const context = await browser.newContext({ viewport: { width: phone.width, height: phone.height } });
    const page = await context.newPage();
    let letGo = () => {};
    const waits = new Promise<void>((resolve) => {
      letGo = resolve;
    });
    await page.route('**/*.js', async (route) => {
      await waits;
      await route.continue();
    });
    await page.goto(server.address, { waitUntil: 'commit' });
    const opening = page.getByText('Opening Gapwright…');
    await opening.waitFor();
    letGo();
    await page.getByRole('heading', { name: 'Cut the fillers right the first time' }).waitFor();
    expect(await opening.isVisible()).toBe(false);
    await context.close();
  });

  test('a photo whose sending broke off is sent again when the connection is back, even after a reload', async () => {
    const { page, context } = await openPage(browser, server.address, phone);
    await page.getByRole('button', { name: 'New table' }).click();
    await page.getByRole('link', { name: 'Next: Photos' }).click();
    let broken = true;
    await page.route('**/photos/**', (route) =>
      broken && route.request().method() === 'PUT' ? route.abort('connectionreset') : route.continue(),
    );
    const [chooser] = await Promise.all([
      page.waitForEvent('filechooser'),
      page.getByRole('button', { name: 'Choose photos' }).click(),
    ]);
    await chooser.setFiles(samplePhoto('three-straights'));
    await page.getByText('interrupted; tried again by itself').waitFor();
    await keepPicture(page, phone, 'upload-interrupted', true);
    await page.reload();
    await page.locator('gw-upload-row').waitFor();
    // The route stays: one that is taken away while a request is held by it may hold that for ever.
    broken = false;
    await page.locator('gw-photo-row').waitFor({ timeout: 20_000 });
    await expect.poll(() => page.locator('gw-upload-row').count()).toBe(0);
    await context.close();
  });

  test('what is entered while the connection is lost is stored when it is back', async () => {
    const id = await tableWithTruth();
    const { page, context } = await openPage(browser, `${server.address}#/table/${id}/wishes`, desk);
    await page.getByRole('button', { name: '+ Room along side A' }).waitFor();
    await context.setOffline(true);
    await page.getByRole('button', { name: '+ Room along side A' }).click();
    await page.getByText('Gapwright does not answer just now.').waitFor();
    await keepPicture(page, desk, 'connection-lost');
    await page.getByLabel(/At least, side A/).waitFor();
    await context.setOffline(false);
    await expect
      .poll(async () => ((await stored(server, id)).wishes.clearance ?? []).length, { timeout: 15_000 })
      .toBe(1);
    await context.close();
  });

  test('a server started again in the middle of measuring goes on, and the page finds it by itself', async () => {
    const { page, context } = await openPage(browser, server.address, desk);
    await page.getByRole('button', { name: 'Try the sample table' }).click();
    await page.getByRole('heading', { name: 'Measuring' }).waitFor({ timeout: 30_000 });
    const port = Number(new URL(server.address).port);
    await server.stop();
    await page.getByText('No connection to Gapwright just now.').waitFor({ timeout: 20_000 });
    server = await startBuiltServer(home, port);
    await page.getByText('No connection to Gapwright just now.').waitFor({ state: 'detached', timeout: 20_000 });
    await page.getByRole('button', { name: /^Gap 1/ }).waitFor({ timeout: 200_000 });
    await context.close();
  });

  test('two devices: different parts are joined, the same part is asked about, nothing is overwritten', async () => {
    const id = await tableWithTruth();
    const one = await openPage(browser, `${server.address}#/table/${id}/wishes`, desk);
    const other = await openPage(browser, `${server.address}#/table/${id}/wishes`, phone);
    await one.page.getByRole('button', { name: '+ Room along side A' }).click();
    // The other device sees it without doing anything.
    await other.page.getByLabel(/At least, side A/).waitFor({ timeout: 15_000 });
    // The other device is cut off, both change the wishes.
    await other.context.setOffline(true);
    await other.page.getByRole('button', { name: '+ Room along side B' }).click();
    await one.page.getByRole('button', { name: '+ Room along side C' }).click();
    await expect
      .poll(async () => (await stored(server, id)).wishes.clearance.map((c) => c.side).join(), { timeout: 10_000 })
      .toBe('A,C');
    await other.context.setOffline(false);
    await other.page
      .getByText('This table was changed on another device while you changed it here.')
      .waitFor({ timeout: 20_000 });
    await keepPicture(other.page, phone, 'two-devices');
    expect((await stored(server, id)).wishes.clearance.map((c) => c.side).join()).toBe('A,C');
    await other.page.getByRole('button', { name: 'Take the other device’s' }).click();
    await other.page.getByLabel(/At least, side C/).waitFor();
    // The own change is one undo away.
    await other.page.getByRole('button', { name: 'Undo' }).click();
    await other.page.getByLabel(/At least, side B/).waitFor();
    await one.context.close();
    await other.context.close();
  });
});

async function stored(server: RunningServer, id: string): Promise<{ wishes: { clearance: { side: string }[] } }> {
  const answer = await fetch(`${server.address}api/tables/${id}`);
  return ((await answer.json()) as { table: { wishes: { clearance: { side: string }[] } } }).table;
}
