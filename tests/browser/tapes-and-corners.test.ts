import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { TableStore } from '../../server/projects/table-store.js';
import { pageSuite, ovalTruth as truth } from '../support/page-suite.js';
import { findChromium, keepPicture, openPage, type ScreenSize, sizes } from '../support/page-under-test.js';

describe.skipIf(!truth || !findChromium())('what a person knows of the table, in the browser', () => {
  const suite = pageSuite();

  async function open(size: ScreenSize, id: string) {
    const opened = await openPage(suite.browser, `${suite.server.address}#/table/${id}/measured`, size);
    await opened.page.getByRole('heading', { name: 'The measured plan' }).waitFor();
    return opened;
  }

  async function settings(id: string) {
    const table = await new TableStore(suite.server.home).read(id);
    if (!table.ok) throw new Error(table.problem.code);
    return table.value.settings;
  }

  test.each(sizes)(
    'the plan names the sides; a tape of one is typed, wrong fields say so, and it is kept, $name',
    async (size) => {
      const id = await suite.measuredTable();
      const { page, errors, foreign, context } = await open(size, id);
      const names = page.locator('gw-picture-overlay .name[data-thing^="side:"]');
      await names.first().waitFor();
      expect(await names.evaluateAll((all) => all.map((n) => n.getAttribute('aria-label')))).toEqual(
        ['A', 'B', 'C', 'D'].map((name) => `Table side ${name}`),
      );
      await page.waitForTimeout(500);
      await keepPicture(page, size, 'measured-side-names');
      await page.goto(`${suite.server.address}#/table/${id}/photos`);
      await page.getByText(/^Tape check/).click();
      const what = page.getByLabel('What the tape was laid over');
      const choices = await what.locator('option').allTextContents();
      expect(choices.slice(1).map((c) => c.trim().replaceAll('\u00a0', ' '))).toEqual([
        'Table side A, measured as 72 1/16 in',
        'Table side B, measured as 48 1/16 in',
        'Table side C, measured as 72 1/16 in',
        'Table side D, measured as 48 1/16 in',
      ]);
      await what.selectOption('B');
      await page.getByLabel(/^Length,/).fill('four feet');
      await page.getByRole('button', { name: 'Add', exact: true }).click();
      const length = page.getByLabel(/^Length,/);
      expect(await length.getAttribute('aria-invalid')).toBe('true');
      expect(await described(page, 'input[name=length]')).toBe('Type a length such as 72 1/16 or 1830 mm.');
      expect(await length.evaluate((input) => (input.getRootNode() as ShadowRoot).activeElement === input)).toBe(true);
      await keepPicture(page, size, 'tape-wrong', true);
      await length.fill('48 1/16');
      await page.getByLabel(/^Give or take,/).fill('1/16');
      await page.getByRole('button', { name: 'Add', exact: true }).click();
      await page.getByText('Table side B: 48 1/16 in ± 0.07 in').waitFor();
      await page.getByText('Photos or settings have changed since the last measurement.').waitFor();
      await expect
        .poll(async () => (await settings(id)).sideChecks)
        .toEqual([{ side: 'B', lengthMm: 48.0625 * 25.4, uMm: 1.5875 / 1.96 }]);
      await page.reload();
      await page.getByText('Table side B: 48 1/16 in ± 0.07 in').waitFor();
      await page.getByLabel('Lengths in').selectOption('millimetres');
      await page.getByText('Table side B: 1220.8 ± 1.6 mm').waitFor();
      // A second tape over the same side takes the place of the first; one that cannot be right is doubted.
      await what.selectOption('B');
      await page.getByLabel(/^Length,/).fill('1830');
      await page.getByRole('button', { name: 'Add', exact: true }).click();
      await page.getByText(/The photos make it 1220\.\d\smm\. Look which side that is/).waitFor();
      await keepPicture(page, size, 'tape-doubted', true);
      expect(await page.locator('gw-tape-checks li').count()).toBe(1);
      await page.getByRole('button', { name: 'Remove Table side B' }).click();
      await expect.poll(async () => (await settings(id)).sideChecks).toEqual([]);
      await page.getByLabel('Lengths in').selectOption('inches, 1/16');
      expect({ errors, foreign }).toEqual({ errors: [], foreign: [] });
      await context.close();
    },
  );

  test.each(sizes)('that its corners are square is said once, and kept, $name', async (size) => {
    const id = await suite.measuredTable();
    const { page, errors, context } = await open(size, id);
    await page.goto(`${suite.server.address}#/table/${id}/photos`);
    const square = page.getByLabel('The corners of my table are square');
    expect(await square.isChecked()).toBe(false);
    await square.check();
    await page.getByText('Photos or settings have changed since the last measurement.').waitFor();
    await expect.poll(async () => (await settings(id)).squareCorners).toBe(true);
    await page.reload();
    await expect.poll(() => square.isChecked()).toBe(true);
    await page.getByRole('heading', { name: 'What the photos show' }).scrollIntoViewIfNeeded();
    await keepPicture(page, size, 'square-corners');
    await square.uncheck();
    // Back to what was measured: nothing is out of date.
    await page.getByText('Measured. The plan is at the next step.').waitFor();
    expect(errors).toEqual([]);
    await context.close();
  });

  test('before anything is measured, two markers can be chosen, and how to come by the sides is said', async () => {
    const { page, context } = await openPage(suite.browser, suite.server.address, sizes[0]);
    await page.getByLabel('Name of the table').fill('Attic');
    await page.getByRole('button', { name: 'New table' }).click();
    await page.getByRole('link', { name: 'Next: Photos' }).click();
    await page.getByText(/^Tape check/).click();
    expect(await page.getByLabel('What the tape was laid over').locator('option').count()).toBe(1);
    await page.getByText(/the measured plan names them A, B, C/).waitFor();
    await page.getByLabel('From marker').fill('3');
    await page.getByLabel('To marker').fill('3');
    await page.getByLabel(/^Length,/).fill('60');
    await page.getByRole('button', { name: 'Add', exact: true }).click();
    expect(await described(page, 'input[name=to]')).toBe('That is the same marker.');
    await page.getByLabel('To marker').fill('7');
    await page.getByRole('button', { name: 'Add', exact: true }).click();
    await page.getByText('Marker 3 to marker 7: 60 in').waitFor();
    await context.close();
  });
});

/** The words by which a field says what is wrong with it. */
async function described(page: Page, field: string): Promise<string | null> {
  return page.locator(`gw-tape-checks ${field}`).evaluate((input) => {
    const id = input.getAttribute('aria-describedby') ?? '';
    return (input.getRootNode() as ShadowRoot).getElementById(id)?.textContent ?? null;
  });
}
