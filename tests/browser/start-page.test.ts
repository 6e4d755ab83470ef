import { describe, expect, test } from 'vitest';
import { pageSuite } from '../support/page-suite.js';
import { findChromium, keepPicture, openPage, sizes } from '../support/page-under-test.js';

describe.skipIf(!findChromium())('the start page in the browser', () => {
  const suite = pageSuite();

  test.each(sizes)('a table is deleted by keyboard alone, once one is sure, $name', async (size) => {
    const made = await fetch(`${suite.server.address}api/tables`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ name: 'Attic' }),
    });
    expect(made.status).toBe(201);
    const { page, context } = await openPage(suite.browser, suite.server.address, size);
    const focused = (name: string) => page.locator(`:focus[aria-label^="${name}"]`);
    await page.getByRole('button', { name: 'Delete Attic…' }).focus();
    await page.keyboard.press('Enter');
    await focused('Keep Attic').waitFor();
    await keepPicture(page, size, 'start-delete', true);
    await page.keyboard.press('Enter');
    await focused('Delete Attic…').waitFor();
    await page.keyboard.press('Enter');
    await focused('Keep Attic').waitFor();
    await page.keyboard.press('Shift+Tab');
    await focused('Delete Attic with its photos').waitFor();
    await page.keyboard.press('Enter');
    await page.locator('h2:focus', { hasText: 'Your tables' }).waitFor();
    expect(await page.getByRole('link', { name: 'Attic' }).count()).toBe(0);
    await context.close();
  });
});
