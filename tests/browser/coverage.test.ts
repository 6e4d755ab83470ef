import { describe, expect, test } from 'vitest';
import { pageSuite, ovalTruth as truth } from '../support/page-suite.js';
import { findChromium, keepPicture, openPage, sizes, violations } from '../support/page-under-test.js';

const looks = sizes.flatMap((size) =>
  (['light', 'dark'] as const).map((colorScheme) => ({ size, colorScheme, name: `${size.name}, ${colorScheme}` })),
);

describe.skipIf(!truth || !findChromium())('how sure it is, on the measured plan', () => {
  let id = '';
  const suite = pageSuite(async (s) => {
    id = await s.measuredTable();
  });
  const address = () => `${suite.server.address}#/table/${id}/measured`;

  test.each(looks)(
    'the picture is tinted when asked, with what each tint means: $name',
    async ({ size, colorScheme }) => {
      const { page, errors, foreign, context } = await openPage(suite.browser, address(), size, { colorScheme });
      const note = page.locator('gw-coverage-note');
      await note.getByRole('heading', { name: 'How sure, and where' }).waitFor();
      expect(await note.locator('.advice').textContent()).toMatch(
        /^Put one more marker sheet near the right end of side B/,
      );
      const tints = page.locator('gw-picture-overlay path.tint');
      expect(await tints.count()).toBe(0);
      const tick = note.getByLabel('Tint the picture by how sure it is');
      await tick.check();
      await tints.first().waitFor();
      const legend = await note.locator('li').allTextContents();
      expect(legend.map(plain)).toEqual([
        'good to ± 1/32 in',
        'good to ± 1/16 in',
        'good to ± 1/8 in',
        'worse than ± 1/8 in',
        'not seen',
        'place for one more marker sheet',
        'the phone above here for one more photo',
      ]);
      expect(await page.locator('gw-picture-overlay path.coverage.unseen').count()).toBe(2);
      // As many tints as the legend has, each on a part of the table.
      expect(await tints.count()).toBe(5);
      for (const box of await tints.evaluateAll((all) => all.map((e) => (e as SVGPathElement).getBBox().width)))
        expect(box).toBeGreaterThan(10);
      await tick.scrollIntoViewIfNeeded();
      await page.waitForTimeout(600);
      await keepPicture(page, size, `coverage-on-plan-${colorScheme}`);
      // At the top of the page, where nothing lies half under the path of steps that stays in sight.
      await page.evaluate(() => window.scrollTo(0, 0));
      expect(await violations(page)).toEqual([]);
      await page.getByLabel('Which picture').selectOption({ label: 'birch-oval.jpg' });
      await page.waitForTimeout(1200);
      expect(await tints.count()).toBe(5);
      await keepPicture(page, size, `coverage-on-photo-${colorScheme}`);
      await page.getByLabel('Which picture').selectOption({ label: 'Drawing only' });
      await page.waitForTimeout(600);
      await keepPicture(page, size, `coverage-on-drawing-${colorScheme}`);
      await tick.uncheck();
      await expect.poll(() => tints.count()).toBe(0);
      expect({ errors, foreign }).toEqual({ errors: [], foreign: [] });
      await context.close();
    },
  );

  test('advice and legend follow the unit switch', async () => {
    const { page, context } = await openPage(suite.browser, address(), sizes[1]);
    const note = page.locator('gw-coverage-note');
    await note.getByLabel('Tint the picture by how sure it is').check();
    await page.getByLabel('Lengths in').selectOption('millimetres');
    await expect.poll(() => note.locator('.advice').textContent()).toMatch(/from ±\s2\.4\smm .* to ±\s0\.8\smm\.$/);
    await expect
      .poll(async () => plain((await note.locator('li').first().textContent()) ?? ''))
      .toBe('good to ± 0.5 mm');
    await context.close();
  });

  test('a length is still chosen by touching the picture while it is tinted', async () => {
    const { page, context } = await openPage(suite.browser, address(), sizes[1]);
    await page.getByLabel('Tint the picture by how sure it is').check();
    const gap = page.locator('gw-picture-overlay path.gaps').first();
    const box = await gap.boundingBox();
    if (!box) throw new Error('the gap is not drawn');
    await page.mouse.click(box.x + box.width / 2, box.y + box.height / 2);
    await page.locator('gw-measured-list button[aria-pressed=true]').waitFor();
    await context.close();
  });
});

/** Text as it reads, whatever kind of spaces keeps it together. */
function plain(text: string): string {
  return text.trim().replace(/\s+/g, ' ');
}
