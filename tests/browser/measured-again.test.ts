import { describe, expect, test } from 'vitest';
import { oneDonor } from '../support/one-donor.js';
import { pageSuite, ovalTruth as truth } from '../support/page-suite.js';
import { findChromium, keepPicture, openPage, sizes } from '../support/page-under-test.js';

describe.skipIf(!truth || !findChromium())('a plan of before, in the browser', () => {
  const suite = pageSuite();

  test.each(sizes)(
    'measured again, fillers and cut say that their plan is of the measurement before, and offer to work it out again, $name',
    async (size) => {
      const id = await suite.measuredTable(150);
      const table = `${suite.server.address}api/tables/${id}`;
      const { table: document } = (await (await fetch(table)).json()) as { table: { version: number } };
      const headers = { 'content-type': 'application/json' };
      await fetch(table, {
        method: 'PATCH',
        headers,
        body: JSON.stringify({ version: document.version, stock: oneDonor }),
      });
      const address = (step: string) => `${suite.server.address}#/table/${id}/${step}`;
      const { page, errors, context } = await openPage(suite.browser, address('fillers'), size);
      await page.locator('gw-filler-list [data-filler]').first().waitFor({ timeout: 60_000 });
      const done = page.locator('gw-step-path a.done .name');
      await expect.poll(() => done.allTextContents()).toContain('Fillers');

      await fetch(`${table}/measure`, { method: 'POST' });
      const said = page.getByText('The table was measured again since these fillers were worked out');
      await said.waitFor({ timeout: 120_000 });
      expect(await page.locator('gw-filler-list').count()).toBe(0);
      await page.getByRole('heading', { name: 'The cuts, by the measurement before' }).waitFor();
      expect(await done.allTextContents()).not.toContain('Fillers');
      await keepPicture(page, size, 'measured-again-fillers');

      await page.goto(address('cut'));
      await said.waitFor();
      expect(await page.getByRole('link', { name: 'Cut sheet, PDF' }).count()).toBe(0);
      await keepPicture(page, size, 'measured-again-cut');
      await page.reload();
      await said.waitFor();
      await page.goto(address('fillers'));
      await page.reload();
      await said.waitFor();

      await page.goto(address('cut'));
      await page.getByRole('button', { name: 'Work them out again' }).click();
      const sheet = page.getByRole('link', { name: 'Cut sheet, PDF' });
      await sheet.waitFor({ timeout: 60_000 });
      expect(await said.count()).toBe(0);
      const [download] = await Promise.all([page.waitForEvent('download'), sheet.click()]);
      expect(await download.failure()).toBeNull();
      await page.goto(address('fillers'));
      await page.locator('gw-filler-list').waitFor();
      expect(await said.count()).toBe(0);
      await page.goto(address('measured'));
      await page.getByText(/^Marker side used: 150 mm \(5 29\/32 in\)\./).waitFor();
      await keepPicture(page, size, 'measured-marker-side');
      expect(errors).toEqual([]);
      await context.close();
    },
  );
});
