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
    await page.getByText('how far apart the rail ends stay when you push').waitFor();
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
    await page.goto(page.url().replace(/check$/, 'fillers'));
    const uncut = page.locator('gw-plan-choice li', { hasText: 'Let the whole track move' });
    await uncut.getByText('2 straights come out').waitFor();
    await uncut.getByText(/^24.*shorter$/).waitFor();
    await uncut.getByRole('button', { name: 'Take this one' }).click({ timeout: 60_000 });
    await page.getByText('This plan: Let the whole track move').waitFor({ timeout: 60_000 });
    await page.getByText('No filler is needed. Straights laid anew make it fit.').waitFor();
    await page
      .getByText(/^Lay, in this order, beginning by side \w, \d+ in from corner/)
      .first()
      .waitFor();
    await page.getByRole('heading', { name: 'Fill the gaps, all else stays' }).waitFor();
    await keepPicture(page, size, 'sample-uncut', true);
    await page.goto(page.url().replace(/fillers$/, 'wishes'));
    const way = page.getByRole('radio', { name: /whole track move/ });
    expect(await way.isChecked()).toBe(true);
    await page.getByRole('radio', { name: 'Cut as little as possible' }).check();
    await way.waitFor({ state: 'detached' });
    expect({ errors, foreign }).toEqual({ errors: [], foreign: [] });
    await context.close();
  });
});
