import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import type { Corrections } from '../../server/contract/corrections.js';
import { pageSuite, ovalTruth as truth } from '../support/page-suite.js';
import { findChromium, keepPicture, openPage, type ScreenSize, sizes } from '../support/page-under-test.js';

describe.skipIf(!truth || !findChromium())('correcting by hand in the browser', () => {
  const suite = pageSuite();

  async function open(size: ScreenSize, id?: string) {
    const table = id ?? (await suite.measuredTable(150));
    const opened = await openPage(suite.browser, `${suite.server.address}#/table/${table}/measured`, size);
    await opened.page.getByRole('button', { name: /correct it by hand/ }).click();
    await opened.page.getByLabel('What is wrong?').waitFor();
    await opened.page.locator('gw-picture-overlay path.gaps').first().waitFor();
    return { ...opened, id: table };
  }

  const stored = async (id: string): Promise<Corrections['list']> => {
    const answer = await fetch(`${suite.server.address}api/tables/${id}`);
    return ((await answer.json()) as { table: { corrections: Corrections } }).table.corrections.list;
  };
  const stopMeasuring = (id: string): Promise<unknown> =>
    fetch(`${suite.server.address}api/tables/${id}/measure`, { method: 'DELETE' });

  test.each(sizes)(
    'a gap that is none goes; the change is shown, undone, and a reload keeps it, $name',
    async (size) => {
      const { page, id, errors, foreign, context } = await open(size);
      await page.getByLabel('What is wrong?').selectOption({ label: 'A gap is none' });
      await touch(page, size, await middleOf(page.locator('gw-picture-overlay path.gaps').first()));
      await page.getByText('1. No gap').waitFor();
      await page
        .getByText(/Measuring again/)
        .first()
        .waitFor();
      await keepPicture(page, size, 'correct-measuring');
      await page.getByRole('heading', { name: 'What it changed' }).waitFor({ timeout: 120_000 });
      await page.getByRole('cell', { name: 'gone' }).waitFor();
      await expect.poll(() => page.locator('gw-picture-overlay path.gaps').count()).toBe(1);
      await page
        .getByText(/taken in/)
        .first()
        .waitFor();
      await keepPicture(page, size, 'correct-changed');
      await page.getByRole('button', { name: 'Undo' }).click();
      await expect.poll(() => stored(id)).toEqual([]);
      await page.getByRole('button', { name: 'Redo' }).click();
      await expect.poll(async () => (await stored(id)).map((c) => c.kind)).toEqual(['no-gap']);
      await stopMeasuring(id);
      await page.reload();
      await page.getByRole('button', { name: /correct it by hand/ }).click();
      await page.getByText('1. No gap').waitFor();
      await page.getByRole('heading', { name: 'What it changed' }).waitFor();
      await page.getByRole('cell', { name: 'gone' }).waitFor();
      expect(await page.getByLabel('Which picture').inputValue()).not.toBe('plan');
      await page.getByRole('button', { name: 'Back to what was measured' }).click();
      await expect.poll(() => page.getByLabel('Which picture').inputValue()).toBe('plan');
      expect({ errors, foreign }).toEqual({ errors: [], foreign: [] });
      await context.close();
    },
  );

  test.each(sizes)('a corner is dragged, a side is pointed at twice, and both are one outline, $name', async (size) => {
    const { page, id, context } = await open(size);
    await page.getByText('Choose what is wrong, then touch the place on the photo').waitFor();
    expect(await page.getByText('Choose a line of the list').count()).toBe(0);
    await keepPicture(page, size, 'correct-begun');
    await page.getByLabel('What is wrong?').selectOption({ label: 'A corner is in the wrong place' });
    const handle = page.locator('gw-picture-overlay .handle[data-handle="corner:0"] circle');
    await handle.waitFor();
    await keepPicture(page, size, 'correct-corner');
    const start = await middleOf(handle);
    await page.mouse.move(start.x, start.y);
    await page.mouse.down();
    for (let i = 1; i <= 6; i++) await page.mouse.move(start.x + 2 * i, start.y - i);
    await page.mouse.up();
    await expect.poll(async () => (await stored(id)).length).toBe(1);
    await expect.poll(async () => (await middleOf(handle)).x - start.x).toBeCloseTo(12, 0);
    await page.getByLabel('What is wrong?').selectOption({ label: 'A side is in the wrong place' });
    const [a, b] = await Promise.all([cornerAt(page, 1), cornerAt(page, 2)]);
    for (const t of [0.3, 0.7]) await touch(page, size, { x: a.x + t * (b.x - a.x), y: a.y + t * (b.y - a.y) });
    await expect
      .poll(
        async () =>
          (await stored(id)).map((c) => (c.kind === 'table-outline' ? c.corners.filter((k) => k.set).length : 0)),
        {
          timeout: 10_000,
        },
      )
      .toEqual([3]);
    await stopMeasuring(id);
    await context.close();
  });

  test.each(sizes)(
    'track is drawn with as many touches as it takes; the last one can be taken back, $name',
    async (size) => {
      const { page, id, context } = await open(size);
      await page.getByLabel('What is wrong?').selectOption({ label: 'Track was missed' });
      const stage = await boxOf(page.locator('gw-picture-view .stage'));
      const done = page.getByRole('button', { name: 'Done' });
      expect(await done.isDisabled()).toBe(true);
      for (const [u, v] of [
        [0.3, 0.3],
        [0.5, 0.35],
        [0.9, 0.9],
        [0.6, 0.4],
      ]) {
        await touch(page, size, { x: stage.x + u * stage.width, y: stage.y + v * stage.height });
        if (u === 0.9) await page.getByRole('button', { name: 'Take back the last place' }).click();
      }
      await page.getByText('3 places so far.').waitFor();
      await keepPicture(page, size, 'correct-drawing');
      await done.click();
      await expect
        .poll(async () => (await stored(id)).map((c) => (c.kind === 'track-here' ? c.line.length : 0)), {
          timeout: 10_000,
        })
        .toEqual([3]);
      await stopMeasuring(id);
      await context.close();
    },
  );

  test.each(sizes)('what was looked at nearer stays so while places are touched and saved, $name', async (size) => {
    const { page, id, context } = await open(size);
    await page.getByLabel('What is wrong?').selectOption({ label: 'One run is really two' });
    for (let i = 0; i < 4; i++) await page.getByRole('button', { name: 'Look nearer' }).click();
    const scale = () =>
      page
        .locator('gw-picture-overlay path.edge')
        .first()
        .evaluate((path) => (path as SVGPathElement).getScreenCTM()?.a);
    const before = await scale();
    const stage = await boxOf(page.locator('gw-picture-view .stage'));
    await touch(page, size, { x: stage.x + stage.width / 2, y: stage.y + stage.height / 2 });
    await page.getByText('1. Runs parted').waitFor();
    await expect.poll(async () => (await stored(id)).length).toBe(1);
    await page
      .getByText(/Measuring again/)
      .first()
      .waitFor();
    expect(await scale()).toBe(before);
    await page
      .getByText(/Measuring again/)
      .first()
      .waitFor({ state: 'detached', timeout: 120_000 });
    await page.waitForTimeout(1000);
    expect(await scale()).toBe(before);
    await context.close();
  });

  test('the keyboard alone corrects: the place under the cross in the middle, with Enter', async () => {
    const { page, id, context } = await open(sizes[1]);
    await page.getByLabel('What is wrong?').selectOption({ label: 'One run is really two' });
    await page.locator('gw-picture-view .stage').focus();
    await page.keyboard.press('+');
    await page.keyboard.press('ArrowLeft');
    await page.keyboard.press('Enter');
    await expect.poll(async () => (await stored(id)).map((c) => c.kind)).toEqual(['split']);
    await stopMeasuring(id);
    await context.close();
  });

  test('two devices correct the same table: the later one is told, and nothing is overwritten', async () => {
    const one = await open(sizes[1]);
    const other = await open(sizes[0], one.id);
    await other.context.setOffline(true);
    for (const [device, size] of [
      [other, sizes[0]],
      [one, sizes[1]],
    ] as const) {
      await device.page.getByLabel('What is wrong?').selectOption({ label: 'One run is really two' });
      const stage = await boxOf(device.page.locator('gw-picture-view .stage'));
      await touch(device.page, size, { x: stage.x + stage.width / 2, y: stage.y + stage.height / 2 });
      await device.page.getByText('1. Runs parted').waitFor();
    }
    await expect.poll(async () => (await stored(one.id)).length).toBe(1);
    const [kept] = await stored(one.id);
    await stopMeasuring(one.id);
    await other.context.setOffline(false);
    const asked = other.page.getByText('This table was changed on another device while you changed it here.');
    await asked.waitFor({ timeout: 20_000 });
    // Longer than the page waits before it tries again, and with the table asked for once more.
    await other.page.evaluate(() => window.dispatchEvent(new Event('online')));
    await other.page.waitForTimeout(4000);
    expect(await asked.isVisible()).toBe(true);
    expect(await stored(one.id)).toEqual([kept]);
    await one.context.close();
    await other.context.close();
  });
});

async function touch(page: Page, size: ScreenSize, at: { x: number; y: number }): Promise<void> {
  if (size.phone) await page.touchscreen.tap(at.x, at.y);
  else await page.mouse.click(at.x, at.y);
}

async function boxOf(target: import('playwright-core').Locator) {
  const box = await target.boundingBox();
  if (!box) throw new Error('it is not on the screen');
  return box;
}

async function middleOf(target: import('playwright-core').Locator): Promise<{ x: number; y: number }> {
  const box = await boxOf(target);
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
}

/** Where a corner of the outline lies on the screen, read from the drawing of the sides. */
async function cornerAt(page: Page, index: number): Promise<{ x: number; y: number }> {
  return page
    .locator('gw-picture-overlay path.edge')
    .nth(index)
    .evaluate((path) => {
      const line = path as SVGPathElement;
      const p = line.getPointAtLength(0).matrixTransform(line.getScreenCTM() ?? undefined);
      return { x: p.x, y: p.y };
    });
}
