import { describe, expect, test } from 'vitest';
import { pageSuite } from '../support/page-suite.js';
import { findChromium, keepPicture, openPage, sizes } from '../support/page-under-test.js';

describe.skipIf(!findChromium())('the sample table in the browser', () => {
  const suite = pageSuite();

  test.each(sizes)('one click measures it, and every step has what it needs, $name', async (size) => {
    const { page, errors, foreign, context } = await openPage(suite.browser, suite.server.address, size);
    await page.getByRole('button', { name: 'Try the sample table' }).click();
    await page.getByRole('heading', { name: 'Measuring' }).waitFor();
    await keepPicture(page, size, 'sample-measuring');
    await page.getByRole('heading', { name: 'The measured plan' }).waitFor({ timeout: 120_000 });
    await page.getByRole('button', { name: /^Gap 1/ }).waitFor();
    await page.waitForTimeout(800);
    await keepPicture(page, size, 'sample-measured');
    await page.getByRole('link', { name: 'Next: Wishes' }).click();
    await page.getByRole('heading', { name: /What you wish/ }).waitFor();
    await page.getByRole('link', { name: 'Next: Fillers' }).click();
    await page.locator('gw-filler-list [data-filler]').first().waitFor({ timeout: 60_000 });
    await page.waitForTimeout(800);
    await keepPicture(page, size, 'sample-fillers', true);
    await page.getByRole('link', { name: 'Next: Cut' }).click();
    for (const [name, ending] of [
      ['Cut sheet, PDF', 'pdf'],
      ['CSV', 'csv'],
      ['SVG', 'svg'],
      ['DXF', 'dxf'],
      ['Setting-out sheet, PDF', 'pdf'],
      ['Layout, DXF', 'dxf'],
    ]) {
      const [download] = await Promise.all([
        page.waitForEvent('download'),
        page.getByRole('link', { name, exact: true }).click(),
      ]);
      expect(download.suggestedFilename().toLowerCase()).toMatch(new RegExp(`\\.${ending}$`));
      expect(await download.failure()).toBeNull();
    }
    await keepPicture(page, size, 'sample-cut', true);
    await page.getByRole('link', { name: 'Next: Check again' }).click();
    await page.getByRole('heading', { name: 'Check again' }).waitFor();
    await keepPicture(page, size, 'sample-check', true);
    expect({ errors, foreign }).toEqual({ errors: [], foreign: [] });
    await context.close();
  });
});
