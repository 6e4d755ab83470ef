import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Locator, Page } from 'playwright-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
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

describe.skipIf(!findChromium())('photos in the browser', () => {
  let server: RunningServer;
  let browser: Browser;
  let folder = '';
  const made: Record<string, string> = {};

  beforeAll(async () => {
    server = await startBuiltServer();
    browser = await startBrowser();
    folder = await mkdtemp(join(tmpdir(), 'gapwright-photos-'));
    const grey = { create: { width: 1800, height: 1350, channels: 3 as const, background: '#9a9a90' } };
    const noise = sharp(grey).jpeg({ quality: 70 });
    for (const name of ['first.jpg', 'second.jpg', 'third.jpg']) {
      made[name] = join(folder, name);
      await noise.clone().toFile(made[name]);
    }
    made['letter.jpg'] = join(folder, 'letter.jpg');
    await writeFile(made['letter.jpg'], 'Dear table, I am no photo.');
  });

  afterAll(async () => {
    await browser?.close();
    await server?.stop();
    await rm(folder, { recursive: true, force: true });
  });

  async function newTable(page: Page): Promise<void> {
    await page.getByLabel('Name of the table').fill('Attic');
    await page.getByRole('button', { name: 'New table' }).click();
    await page.getByRole('heading', { name: 'Print a marker sheet' }).waitFor();
  }

  test.each(sizes)('from an empty folder: sheet, several photos at once, settings kept, $name', async (size) => {
    const { page, errors, foreign, context } = await openPage(browser, server.address, size);
    await newTable(page);
    await page.getByLabel('Paper').selectOption('A4');
    const [sheet] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('link', { name: 'Download PDF' }).click(),
    ]);
    expect(sheet.suggestedFilename()).toMatch(/\.pdf$/);
    expect(await sheet.failure()).toBeNull();
    await page.getByRole('link', { name: 'Next: Photos' }).click();
    await choose(page, [made['first.jpg'], made['second.jpg'], made['third.jpg']]);
    await page.locator('gw-photo-row').nth(2).waitFor();
    await expect.poll(() => page.locator('gw-upload-row').count()).toBe(0);
    await page.getByLabel(/Side of the marker/).fill('118.5');
    await page.getByLabel(/^Low: rail tops/).check();
    await page.waitForTimeout(1200);
    await keepPicture(page, size, 'photos-several', true);
    await page.reload();
    await expect.poll(() => page.getByLabel(/Side of the marker/).inputValue()).toBe('118.5');
    expect(await page.getByLabel(/^Low: rail tops/).isChecked()).toBe(true);
    expect(await page.locator('gw-photo-row').count()).toBe(3);
    expect({ errors, foreign }).toEqual({ errors: [], foreign: [] });
    await context.close();
  });

  test('an emptied name is put back, and a new one is on the start page', async () => {
    const { page, context } = await openPage(browser, server.address, sizes[0]);
    await newTable(page);
    const name = page.getByLabel('Name of the table');
    const given = await name.inputValue();
    expect(given).toContain('Attic');
    await name.fill('   ');
    await name.blur();
    expect(await name.inputValue()).toBe(given);
    await name.fill('Shed');
    await name.blur();
    await page.getByRole('link', { name: 'Gapwright' }).click();
    await page.getByRole('link', { name: 'Shed' }).waitFor();
    await context.close();
  });

  test('what is typed just before the page is put away is stored', async () => {
    const { page, context } = await openPage(browser, server.address, sizes[0]);
    await newTable(page);
    const name = page.getByLabel('Name of the table');
    await name.fill('Cellar');
    await name.blur();
    // As a phone does: hidden, and then nothing of the page runs any more.
    await page.evaluate(() => {
      Object.defineProperty(document, 'visibilityState', { value: 'hidden' });
      document.dispatchEvent(new Event('visibilitychange'));
    });
    await page.close();
    const tables = async () =>
      ((await (await context.request.get(`${server.address}api/tables`)).json()) as { tables: { name: string }[] })
        .tables;
    await expect.poll(async () => (await tables()).map((table) => table.name)).toContain('Cellar');
    await context.close();
  });

  test.each(sizes)(
    'what is no photo is refused with a sentence and a next step; the good one beside it stays, $name',
    async (size) => {
      const { page, context } = await openPage(browser, server.address, size);
      await newTable(page);
      await page.getByRole('link', { name: 'Next: Photos' }).click();
      await choose(page, [made['letter.jpg'], made['first.jpg']]);
      await page.getByText('letter.jpg is not a photo that can be read here.').waitFor();
      await page.getByText(/Choose a JPEG, PNG, WebP or HEIC/).waitFor();
      await page.locator('gw-photo-row').first().waitFor();
      await keepPicture(page, size, 'photos-refused', true);
      await page.getByRole('button', { name: 'Leave it out' }).click();
      await expect.poll(() => page.locator('gw-upload-row').count()).toBe(0);
      expect(await page.locator('gw-photo-row').count()).toBe(1);
      await context.close();
    },
  );

  test.each(sizes)(
    'a photo is judged when it has arrived: what is right, and what to do better, $name',
    async (size) => {
      const { page, context } = await openPage(browser, server.address, size);
      await newTable(page);
      await page.getByRole('link', { name: 'Next: Photos' }).click();
      await choose(page, [samplePhoto('green-table-oval'), samplePhoto('two-loops-left'), made['first.jpg']]);
      await page
        .getByText(/Looked at: sharp enough, markers [\d, ]+ seen, the whole table in it\./)
        .waitFor({ timeout: 30_000 });
      await page.getByText('The table runs out of the picture.').waitFor({ timeout: 30_000 });
      await page.getByText('No marker can be read in it.').waitFor({ timeout: 30_000 });
      expect(await page.locator('gw-remark-drawing svg').count()).toBe(2);
      await keepPicture(page, size, 'photos-judged', true);
      await context.close();
    },
  );

  test('photos can be dropped on the page', async () => {
    const { page, context } = await openPage(browser, server.address, sizes[1]);
    await newTable(page);
    await page.getByRole('link', { name: 'Next: Photos' }).click();
    const area = page.locator('gw-photo-drop .area');
    const bytes = [...(await sharp(made['first.jpg']).toBuffer())];
    const transfer = await page.evaluateHandle((data) => {
      const all = new DataTransfer();
      all.items.add(new File([new Uint8Array(data)], 'dropped.jpg', { type: 'image/jpeg' }));
      return all;
    }, bytes);
    await area.dispatchEvent('dragover', { dataTransfer: transfer });
    expect(await area.getAttribute('class')).toMatch(/over/);
    await area.dispatchEvent('drop', { dataTransfer: transfer });
    await page.getByText('dropped.jpg').first().waitFor();
    await page.locator('gw-photo-row').waitFor();
    await context.close();
  });

  test('a phone is asked for its rear camera', async () => {
    const { page, context } = await openPage(browser, server.address, sizes[0]);
    await newTable(page);
    await page.getByRole('link', { name: 'Next: Photos' }).click();
    const [chooser] = await Promise.all([
      page.waitForEvent('filechooser'),
      page.getByRole('button', { name: 'Take a photo' }).click(),
    ]);
    expect(await chooser.element().getAttribute('capture')).toBe('environment');
    await chooser.setFiles(made['second.jpg']);
    await page.locator('gw-photo-row').waitFor();
    await context.close();
  });

  test.each(sizes)('a photo without a marker says so after measuring, and stays, $name', async (size) => {
    const { page, context } = await openPage(browser, server.address, size);
    await newTable(page);
    await page.getByRole('link', { name: 'Next: Photos' }).click();
    await choose(page, [made['first.jpg']]);
    await page.locator('gw-photo-row').waitFor();
    await page.getByRole('button', { name: 'Measure', exact: true }).click();
    await page.getByText('No marker was found in first.jpg.').waitFor({ timeout: 60_000 });
    await page.getByText(/Lay a printed marker sheet flat/).waitFor();
    expect(await page.locator('gw-photo-row').count()).toBe(1);
    await keepPicture(page, size, 'photos-no-marker', true);
    expect(await page.locator('gw-step-path a.done').count()).toBe(1);
    // With the photo goes what was said of it, even when another one has come before.
    await choose(page, [made['second.jpg']]);
    await page.locator('gw-photo-row').nth(1).waitFor();
    await page.getByText('No marker was found in first.jpg.').waitFor();
    await page.getByRole('button', { name: 'Take away first.jpg…' }).click();
    await page.getByRole('button', { name: 'Take it away' }).click();
    await expect.poll(() => page.locator('gw-photo-row').count()).toBe(1);
    await page.getByText('No marker was found in first.jpg.').waitFor({ state: 'detached' });
    await context.close();
  });

  test.each(sizes)('with a wrong marker side nothing is measured: the field says what to type, $name', async (size) => {
    const { page, context } = await openPage(browser, server.address, size);
    await newTable(page);
    await page.getByRole('link', { name: 'Next: Photos' }).click();
    await choose(page, [made['first.jpg']]);
    await page.locator('gw-photo-row').waitFor();
    let asked = 0;
    page.on('request', (request) => {
      if (request.method() === 'POST' && request.url().endsWith('/measure')) asked++;
    });
    const side = page.getByLabel(/Side of the marker/);
    const measure = page.getByRole('button', { name: 'Measure', exact: true });
    for (const [typed, said] of [
      ['4 3/4', 'It must be between 10 and 1000 mm. For inches type 4 3/4 in.'],
      ['5000', 'It must be between 10 and 1000 mm.'],
    ]) {
      await side.fill(typed);
      await measure.click();
      await page.getByText(said, { exact: true }).waitFor();
      await page.getByText(/^Measuring did not begin\. Put this right first: “Side of the marker/).waitFor();
      expect(await side.evaluate((input) => (input.getRootNode() as ShadowRoot).activeElement === input)).toBe(true);
      await expect.poll(() => inSight(page, side)).toBe(true);
    }
    await keepPicture(page, size, 'photos-wrong-side');
    await page.waitForTimeout(500);
    expect(asked).toBe(0);
    await side.fill('4 3/4 in');
    await side.blur();
    await page.getByText(/^Measuring did not begin/).waitFor({ state: 'detached' });
    expect(await side.inputValue()).toBe('120.7');
    await measure.click();
    await expect.poll(() => asked).toBe(1);
    await context.close();
  });

  test.each(sizes)('pressed at the foot of the page, measuring is seen to begin at once, $name', async (size) => {
    const { page, context } = await openPage(browser, server.address, size, { reducedMotion: 'reduce' });
    await newTable(page);
    await page.getByRole('link', { name: 'Next: Photos' }).click();
    await choose(page, [samplePhoto('birch-oval')]);
    await page.locator('gw-photo-row').waitFor();
    const measure = page.getByRole('button', { name: 'Measure', exact: true });
    await measure.scrollIntoViewIfNeeded();
    await measure.click();
    const stop = page.getByRole('button', { name: 'Stop measuring' });
    await stop.waitFor();
    await expect.poll(() => inSight(page, page.locator('gw-work-progress'))).toBe(true);
    await keepPicture(page, size, 'photos-measuring');
    const focused = await page
      .locator('gw-work-progress')
      .evaluate((element) => (element.getRootNode() as ShadowRoot).activeElement === element);
    expect(focused).toBe(true);
    await stop.click();
    await context.close();
  });

  test.each(sizes)('measuring can be stopped, and started again, $name', async (size) => {
    const { page, context } = await openPage(browser, server.address, size);
    await newTable(page);
    await page.getByRole('link', { name: 'Next: Photos' }).click();
    await choose(page, [samplePhoto('birch-oval')]);
    await page.locator('gw-photo-row').waitFor();
    await page.getByRole('button', { name: 'Measure', exact: true }).click();
    await page.getByRole('button', { name: 'Stop measuring' }).click();
    await page.getByText('Measuring was stopped. The photos are still here.').waitFor();
    await page.getByRole('button', { name: 'Measure', exact: true }).click();
    await page.getByRole('button', { name: 'Stop measuring' }).waitFor();
    await page.getByRole('button', { name: 'Stop measuring' }).click();
    await page.getByText('Measuring was stopped.').first().waitFor();
    await context.close();
  });
});

/** Whether the top of an element is on the screen, below what sticks there. */
async function inSight(page: Page, target: Locator): Promise<boolean> {
  const box = await target.first().boundingBox();
  const path = await page.locator('gw-step-path').boundingBox();
  const height = page.viewportSize()?.height ?? 0;
  return box !== null && box.y >= (path ? path.y + path.height : 0) && box.y < height - 40;
}

async function choose(page: Page, files: string[]): Promise<void> {
  const [chooser] = await Promise.all([
    page.waitForEvent('filechooser'),
    page.getByRole('button', { name: 'Choose photos' }).click(),
  ]);
  await chooser.setFiles(files);
}
