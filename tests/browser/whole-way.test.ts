import { describe, expect, test } from 'vitest';
import { pageSuite } from '../support/page-suite.js';
import { findChromium, keepPicture, openPage, samplePhoto, sizes } from '../support/page-under-test.js';

const other = { phone: sizes[1], desk: sizes[0] } as const;

describe.skipIf(!findChromium())('the whole way in the browser', () => {
  const suite = pageSuite();

  test.each(sizes)(
    'from an empty folder and one photo to the cut sheet, found again on another device, $name',
    async (size) => {
      const { page, errors, foreign, context } = await openPage(suite.browser, suite.server.address, size);
      await page.getByLabel('Name of the table').fill('Attic');
      await page.getByRole('button', { name: 'New table' }).click();
      await page.getByRole('link', { name: 'Next: Photos' }).click();
      const [chooser] = await Promise.all([
        page.waitForEvent('filechooser'),
        page.getByRole('button', { name: 'Choose photos' }).click(),
      ]);
      await chooser.setFiles(samplePhoto('birch-oval'));
      await page
        .getByText('Looked at: sharp enough, marker 0 seen, the whole table in it.')
        .waitFor({ timeout: 30_000 });
      const side = page.getByLabel(/Side of the marker/);
      await side.fill('150');
      await side.blur();
      await page.getByRole('button', { name: 'Measure', exact: true }).click();
      await page.getByText('Measured. The plan is at the next step.').waitFor({ timeout: 120_000 });
      // On a phone what is said at the button is far below: it is said where the progress was looked at.
      const end = page.locator('gw-work-progress');
      await end.getByText('The photos are measured.').waitFor();
      const box = await end.boundingBox();
      expect(box && box.height > 40 && box.y >= 0 && box.y + box.height <= size.height).toBe(true);
      expect(await end.evaluate((element) => getComputedStyle(element).outlineStyle)).toBe('none');
      await keepPicture(page, size, 'photos-measured');
      await end.getByRole('link', { name: 'See the measured plan' }).click();
      await page.getByRole('button', { name: /^Gap 2/ }).waitFor();
      await page.getByRole('link', { name: 'Next: Wishes' }).click();
      const donor = page.locator('gw-stock-list form').nth(1);
      await donor.getByLabel(/Length/).fill('10');
      await donor.getByRole('button', { name: 'Add' }).click();
      await page.getByText('Donor 1: 10 in').waitFor();
      await page.getByRole('link', { name: 'Next: Fillers' }).click();
      await page.locator('gw-filler-list [data-filler]').nth(1).waitFor({ timeout: 60_000 });
      await page.getByRole('link', { name: 'Next: Cut' }).click();
      const [download] = await Promise.all([
        page.waitForEvent('download'),
        page.getByRole('link', { name: 'Cut sheet, PDF' }).click(),
      ]);
      expect(await download.failure()).toBeNull();
      expect({ errors, foreign }).toEqual({ errors: [], foreign: [] });
      const address = page.url();
      await context.close();

      const elsewhere = await openPage(suite.browser, address, other[size.name]);
      await elsewhere.page.getByRole('link', { name: 'Cut sheet, PDF' }).waitFor();
      expect(await elsewhere.page.getByText('Your wishes have changed since').count()).toBe(0);
      await keepPicture(elsewhere.page, other[size.name], 'whole-way-elsewhere');
      await elsewhere.context.close();
    },
  );
});
