import { describe, expect, test } from 'vitest';
import { pageSuite, ovalTruth as truth } from '../support/page-suite.js';
import { findChromium, keepPicture, openPage, sizes, violations } from '../support/page-under-test.js';

describe.skipIf(!truth || !findChromium())('a whole table as one file', () => {
  const suite = pageSuite();

  test.each(sizes)('is taken from one table and opened as another, $name', async (size) => {
    const id = await suite.measuredTable();
    const { page, errors, foreign, context } = await openPage(
      suite.browser,
      `${suite.server.address}#/table/${id}/cut`,
      size,
    );
    const download = page.waitForEvent('download');
    await page.getByRole('link', { name: 'Whole table, ZIP' }).click();
    const path = await (await download).path();

    await page.goto(`${suite.server.address}#/`);
    const chooser = page.getByLabel(/ZIP file of a whole table/);
    await chooser.setInputFiles({
      name: 'holiday.zip',
      mimeType: 'application/zip',
      buffer: Buffer.from('no archive'),
    });
    await page.getByText('holiday.zip is no packed table that can be opened').waitFor();
    expect(await violations(page)).toEqual([]);
    await keepPicture(page, size, 'packed-table-refused', true);

    await chooser.setInputFiles(path);
    await page.waitForURL((url) => url.hash.endsWith('/measured') && !url.hash.includes(id));
    await page.locator('gw-measured-list').waitFor();
    await page.goto(`${suite.server.address}#/`);
    const names = page.locator('gw-start-screen li a');
    await names.first().waitFor();
    const all = await names.allTextContents();
    expect(all.filter((name) => name === 'Larkspur Lane (2)')).toHaveLength(1);
    expect([errors, foreign]).toEqual([[], []]);
    await context.close();
  });
});
