import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import type { Report } from '../../server/contract/report.js';
import type { TableDocument } from '../../server/contract/tables.js';
import { putMeasuredTable } from '../support/measured-table.js';
import { oneDonor } from '../support/one-donor.js';
import { pageSuite, ovalTruth as truth } from '../support/page-suite.js';
import { findChromium, keepPicture, openPage, type RunningServer, sizes } from '../support/page-under-test.js';
import { sceneTruth } from '../support/scene-truth.js';

describe.skipIf(!truth || !findChromium())('wishes and fillers in the browser', () => {
  const suite = pageSuite();

  test.each(sizes)('a donor, a wish and a place to keep free lead to fillers and a cut sheet, $name', async (size) => {
    const id = await suite.measuredTable();
    const { page, errors, foreign, context } = await openPage(
      suite.browser,
      `${suite.server.address}#/table/${id}/wishes`,
      size,
    );
    await page.getByText('There are open gaps but nothing to fill them from').waitFor();
    const donor = page.locator('gw-stock-list form').nth(1);
    await donor.getByLabel('Name').fill('old straight');
    await donor.getByLabel(/Length/).fill('10');
    await donor.getByRole('button', { name: 'Add' }).click();
    await page.getByText('old straight: 10 in').waitFor();
    await page.getByRole('button', { name: '+ Room along side A' }).click();
    const field = page.getByLabel(/At least, side A/);
    await field.fill('5 1/2');
    await field.blur();
    await page.locator('gw-wish-zones').getByRole('button', { name: 'Add' }).click();
    await page.locator('gw-picture-overlay .handle[data-handle="zone:0"]').waitFor();
    await page.evaluate(() => window.scrollTo(0, 0));
    await page.waitForTimeout(500);
    await keepPicture(page, size, 'wishes-made');
    await saved(
      page,
      suite.server,
      id,
      (t) => t.wishes.keepFree.length === 1 && Math.abs(t.wishes.clearance[0]?.atLeastMm - 139.7) < 0.01,
    );
    await page.getByRole('link', { name: 'Next: Fillers' }).click();
    const fillers = page.locator('gw-filler-list [data-filler]');
    await fillers.first().waitFor({ timeout: 60_000 });
    expect(await fillers.count()).toBeGreaterThan(0);
    expect(await fillers.first().textContent()).toMatch(/cut from old straight/);
    await page.waitForTimeout(700);
    await keepPicture(page, size, 'fillers-planned', true);
    await page.getByRole('link', { name: 'Next: Cut' }).click();
    expect(await page.locator('gw-cut-screen ol li').first().textContent()).toMatch(/lay a steel rule in each gap/);
    expect(await page.locator('gw-donor-strips figcaption').first().textContent()).toMatch(
      /marks at .*\(\d+\.\d\smm\)/,
    );
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('link', { name: 'Cut sheet, PDF' }).click(),
    ]);
    expect(download.suggestedFilename()).toMatch(/Larkspur Lane.*\.pdf$/);
    expect(await download.failure()).toBeNull();
    expect({ errors, foreign }).toEqual({ errors: [], foreign: [] });
    await context.close();
  });

  const loops = sceneTruth('two-loops-whole');

  test.skipIf(!loops)(
    'a spacing that is wished for is foretold, and what of it cannot be had is said in words',
    async () => {
      if (!loops) throw new Error('this copy has no samples');
      const id = await putMeasuredTable(suite.server.home, 'Two loops', loops, 'two-loops-whole');
      const address = `${suite.server.address}api/tables/${id}`;
      const { table } = (await (await fetch(address)).json()) as { table: TableDocument };
      const { runs } = (await (await fetch(`${address}/report`)).json()) as Report;
      const wish = { runs: [runs[0].id, runs[1].id], atLeastMm: 250 };
      const body = JSON.stringify({
        version: table.version,
        wishes: { ...table.wishes, spacing: [wish] },
        stock: oneDonor,
      });
      await fetch(address, { method: 'PATCH', headers: { 'content-type': 'application/json' }, body });
      const { page, context } = await openPage(suite.browser, `${suite.server.address}#/table/${id}/fillers`, sizes[0]);
      const told = page.locator('gw-predicted-fit');
      await told.getByText(/Spacing from run \S+ to run \S+: short by/).waitFor({ timeout: 60_000 });
      const row = told.getByRole('region', { name: 'Spacing, now and afterwards' }).getByRole('row').nth(1);
      expect((await row.textContent())?.replace(/\s+/g, ' ')).toMatch(/\S+ to \S+ – .*in ± .* 9 13\/16 in/);
      await keepPicture(page, sizes[0], 'spacing-foretold', true);
      await context.close();
    },
  );

  const tight = sceneTruth('pine-table-tight-loop');

  test.skipIf(!tight)('where sliding is enough nothing is to be sawn, and no step at the bench is told', async () => {
    if (!tight) throw new Error('this copy has no samples');
    const id = await putMeasuredTable(suite.server.home, 'Tight', tight, 'pine-table-tight-loop');
    const address = `${suite.server.address}api/tables/${id}`;
    const { table } = (await (await fetch(address)).json()) as { table: TableDocument };
    const { clearances } = (await (await fetch(`${address}/report`)).json()) as Report;
    const [narrow] = [...clearances].sort((a, b) => a.distance.value - b.distance.value);
    const clearance = [{ side: narrow.side, atLeastMm: narrow.distance.value + 25 }];
    const body = JSON.stringify({ version: table.version, wishes: { ...table.wishes, clearance } });
    await fetch(address, { method: 'PATCH', headers: { 'content-type': 'application/json' }, body });
    const { page, context } = await openPage(suite.browser, `${suite.server.address}#/table/${id}/fillers`, sizes[0]);
    await page.getByText('No filler is needed.').waitFor({ timeout: 60_000 });
    await page.getByText(/Run \S+ closes as it does now/).waitFor();
    expect(await page.getByText('± 0.00').count()).toBe(0);
    await page.getByRole('link', { name: 'Next: Cut' }).click();
    await page.getByText('Nothing has to be sawn for this plan.').waitFor();
    await page.getByText('Unplug the transformer before you join or lift track').waitFor();
    expect(await page.getByText('lay a steel rule in each gap').count()).toBe(0);
    await context.close();
  });

  test.each(sizes)('dragging a house moves it, one undo puts it back, redo moves it again, $name', async (size) => {
    const id = await suite.measuredTable();
    const { page, context } = await openPage(suite.browser, `${suite.server.address}#/table/${id}/wishes`, size);
    await page.locator('gw-wish-zones').getByRole('button', { name: 'Add' }).click();
    const handle = page.locator('gw-picture-overlay .handle[data-handle="zone:0"] circle');
    await handle.waitFor();
    await page.evaluate(() => window.scrollTo(0, 0));
    await page.waitForTimeout(300);
    const start = await middle(handle);
    await page.mouse.move(start.x, start.y);
    await page.mouse.down();
    for (let i = 1; i <= 8; i++) await page.mouse.move(start.x + 5 * i, start.y - 3 * i);
    await page.mouse.up();
    await expect.poll(async () => near(await middle(handle), { x: start.x + 40, y: start.y - 24 })).toBe(true);
    const moved = await middle(handle);
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(async () => near(await middle(handle), start)).toBe(true);
    await page.getByRole('button', { name: 'Redo' }).click();
    await expect.poll(async () => near(await middle(handle), moved)).toBe(true);
    await context.close();
  });

  test.each(sizes)('a touch on the plan wishes room, puts down a house and makes a piece stay, $name', async (size) => {
    const id = await suite.measuredTable();
    const { page, context } = await openPage(suite.browser, `${suite.server.address}#/table/${id}/wishes`, size);
    const choice = page.getByLabel('A touch on the picture');
    await choice.waitFor();
    await page.locator('gw-picture-overlay path.rails').first().waitFor();
    const place = async (u: number, v: number) => {
      const box = await page.locator('gw-picture-view .stage').boundingBox();
      if (!box) throw new Error('no picture');
      const at = { x: box.x + u * box.width, y: box.y + v * box.height };
      if (size.phone) await page.touchscreen.tap(at.x, at.y);
      else await page.mouse.click(at.x, at.y);
    };
    await choice.selectOption({ label: 'wishes room along a side' });
    await place(0.5, 0.93);
    await page.locator('gw-picture-overlay .handle[data-handle="bandTo:0"]').waitFor();
    await choice.selectOption({ label: 'Tower' });
    await place(0.5, 0.3);
    await page.locator('gw-picture-overlay .handle[data-handle="zone:0"]').waitFor();
    await choice.selectOption({ label: 'makes a piece stay' });
    const rail = await middle(page.locator('gw-picture-overlay path.rails').nth(1));
    const stage = await page.locator('gw-picture-view .stage').boundingBox();
    if (stage) await place((rail.x - stage.x) / stage.width, (rail.y - stage.y) / stage.height);
    await saved(page, suite.server, id, (t) => t.wishes.keepFree.length === 1 && t.wishes.clearance.length === 1);
    await keepPicture(page, size, 'wishes-touched');
    // The end of the band is dragged along its side.
    const end = page.locator('gw-picture-overlay .handle[data-handle="bandTo:0"] circle');
    const start = await middle(end);
    await page.mouse.move(start.x, start.y);
    await page.mouse.down();
    for (let i = 1; i <= 6; i++) await page.mouse.move(start.x - 10 * i, start.y);
    await page.mouse.up();
    await saved(page, suite.server, id, (t) => (t.wishes.clearance[0]?.toMm ?? 0) > 100);
    await context.close();
  });

  test.each(sizes)('a wrong length is refused with a sentence, and what was there stays, $name', async (size) => {
    const id = await suite.measuredTable();
    const { page, context } = await openPage(suite.browser, `${suite.server.address}#/table/${id}/wishes`, size);
    await page.getByRole('button', { name: '+ Room along side B' }).click();
    const field = page.getByLabel(/At least, side B/);
    await field.fill('three or so');
    await field.blur();
    expect(await field.getAttribute('aria-invalid')).toBe('true');
    await page.getByText('Type a length such as 3 1/16 or 76 mm.').waitFor();
    // 6 5/8 in is there at the narrowest, so the wish began at 6 1/2 in.
    await saved(page, suite.server, id, (t) => Math.abs(t.wishes.clearance[0]?.atLeastMm - 165.1) < 0.01);
    await context.close();
  });
});

interface Saved {
  wishes: { keepFree: unknown[]; clearance: { atLeastMm: number; toMm?: number }[] };
}

/** Waits until the server has what the page shows. */
async function saved(page: Page, server: RunningServer, id: string, is: (table: Saved) => boolean): Promise<void> {
  await expect
    .poll(
      async () =>
        is(((await (await page.request.get(`${server.address}api/tables/${id}`)).json()) as { table: Saved }).table),
      { timeout: 10_000 },
    )
    .toBe(true);
}

async function middle(target: import('playwright-core').Locator): Promise<{ x: number; y: number }> {
  const box = await target.boundingBox();
  if (!box) throw new Error('nothing to drag');
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
}

/** A dragged place snaps to the millimetre, less than 2 screen pixels here. */
function near(a: { x: number; y: number }, b: { x: number; y: number }): boolean {
  return Math.hypot(a.x - b.x, a.y - b.y) < 3;
}
