import { describe, expect, test } from 'vitest';
import { pageSuite, ovalTruth as truth } from '../support/page-suite.js';
import { findChromium, keepPicture, openPage, sizes } from '../support/page-under-test.js';

describe.skipIf(!truth || !findChromium())('the measured plan in the browser', () => {
  let id = '';
  const suite = pageSuite(async (s) => {
    id = await s.measuredTable();
  });

  test.each(sizes)('choosing a gap in the list shows it on every picture, $name', async (size) => {
    const { page, errors, foreign, context } = await openPage(
      suite.browser,
      `${suite.server.address}#/table/${id}/measured`,
      size,
    );
    const row = page.getByRole('button', { name: /^Gap 1/ });
    await row.click();
    expect(await row.getAttribute('aria-pressed')).toBe('true');
    const label = page.locator('gw-picture-overlay .label.chosen');
    await label.waitFor();
    expect(await label.getAttribute('aria-label')).toMatch(/^Gap 1: 2 inches, give or take/);
    await page.waitForTimeout(500);
    await keepPicture(page, size, 'measured-gap-on-plan');
    for (const [picture, name] of [
      ['birch-oval.jpg', 'photo'],
      ['Drawing only', 'drawing'],
    ]) {
      await page.getByLabel('Which picture').selectOption({ label: picture });
      await page.waitForTimeout(1200);
      await expectInSight(page, '.label.chosen');
      await keepPicture(page, size, `measured-gap-on-${name}`);
    }
    expect({ errors, foreign }).toEqual({ errors: [], foreign: [] });
    await context.close();
  });

  test.each(sizes)('touching a gap on the picture chooses it in the list, $name', async (size) => {
    const { page, context } = await openPage(suite.browser, `${suite.server.address}#/table/${id}/measured`, size);
    const gap = page.locator('gw-picture-overlay path.gaps').first();
    await gap.waitFor();
    const box = await gap.boundingBox();
    if (!box) throw new Error('the gap is not drawn');
    const at = { x: box.x + box.width / 2, y: box.y + box.height / 2 };
    if (size.phone) await page.touchscreen.tap(at.x, at.y);
    else await page.mouse.click(at.x, at.y);
    await page.locator('gw-measured-list button[aria-pressed=true]').waitFor();
    expect(await page.locator('gw-measured-list button[aria-pressed=true]').textContent()).toMatch(/Gap/);
    await context.close();
  });

  test.each(sizes)('the keyboard alone moves the picture, the profile and the list, $name', async (size) => {
    const { page, context } = await openPage(suite.browser, `${suite.server.address}#/table/${id}/measured`, size);
    const stage = page.locator('gw-picture-view .stage');
    await stage.waitFor();
    const rails = page.locator('gw-picture-overlay svg > g').first();
    const before = await rails.getAttribute('transform');
    await stage.focus();
    await page.keyboard.press('+');
    await page.keyboard.press('ArrowRight');
    expect(await rails.getAttribute('transform')).not.toBe(before);
    await page.keyboard.press('0');
    expect(await rails.getAttribute('transform')).toBe(before);
    const slider = page.getByRole('slider');
    await slider.focus();
    const text = await slider.getAttribute('aria-valuetext');
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('ArrowRight');
    expect(await slider.getAttribute('aria-valuetext')).not.toBe(text);
    await page.locator('gw-picture-overlay .label.chosen').waitFor();
    await keepPicture(page, size, 'measured-profile');
    await context.close();
  });

  test.each(sizes)('one switch changes every length, and a reload keeps it, $name', async (size) => {
    const { page, context } = await openPage(suite.browser, `${suite.server.address}#/table/${id}/measured`, size);
    const row = page.getByRole('button', { name: /^Gap 1/ });
    await expect.poll(() => row.textContent()).toMatch(/2\sin ±/);
    await page.getByLabel('Lengths in').selectOption('millimetres');
    await expect.poll(() => row.textContent()).toMatch(/50\.1 ±\s0\.4\smm/);
    await expect.poll(() => page.locator('gw-picture-overlay .label text').first().textContent()).toMatch(/mm$/);
    await page.waitForTimeout(1500);
    await page.reload();
    await expect.poll(() => row.textContent()).toMatch(/50\.1 ±\s0\.4\smm/);
    await page.getByLabel('Lengths in').selectOption('inches, 1/64');
    await expect.poll(() => row.textContent()).toMatch(/1\s(31\/32|62\/64|63\/64)\sin/);
    await page.getByLabel('Lengths in').selectOption('inches, 1/16');
    await page.waitForTimeout(1500);
    await context.close();
  });

  test('two fingers look nearer, and a resting finger calls the magnifier', async () => {
    const [phone] = sizes;
    const { page, context } = await openPage(suite.browser, `${suite.server.address}#/table/${id}/measured`, phone);
    await page.getByLabel('Which picture').selectOption({ label: 'birch-oval.jpg' });
    const gap = page.locator('gw-picture-overlay path.gaps').first();
    await gap.waitFor();
    await page.locator('gw-picture-view').scrollIntoViewIfNeeded();
    await page.waitForTimeout(1500);
    const touch = await context.newCDPSession(page);
    const fingers = (type: 'touchStart' | 'touchMove' | 'touchEnd', ...points: [number, number][]) =>
      touch.send('Input.dispatchTouchEvent', { type, touchPoints: points.map(([x, y], i) => ({ x, y, id: i })) });
    const at = await middleOf(gap);
    await fingers('touchStart', [at.x, at.y]);
    await page.locator('gw-picture-loupe').waitFor();
    await page.waitForTimeout(300);
    await keepPicture(page, phone, 'measured-magnifier');
    await fingers('touchEnd');
    await page.locator('gw-picture-loupe').waitFor({ state: 'detached' });
    // The thing under the magnifier is chosen.
    expect(await page.locator('gw-measured-list button[aria-pressed=true]').textContent()).toMatch(/Gap/);
    await page.getByRole('button', { name: 'All', exact: true }).click();
    const width = async (): Promise<number> =>
      (await page.locator('gw-picture-overlay path.edge').first().boundingBox())?.width ?? 0;
    const before = await width();
    const stage = await middleOf(page.locator('gw-picture-view .stage'));
    await fingers('touchStart', [stage.x - 20, stage.y], [stage.x + 20, stage.y]);
    for (const reach of [30, 45, 60])
      await fingers('touchMove', [stage.x - reach, stage.y], [stage.x + reach, stage.y]);
    await fingers('touchEnd');
    await expect.poll(async () => (await width()) / before).toBeCloseTo(3, 1);
    await context.close();
  });

  test.each(sizes)('the drawing lies on the photo where the rails are, $name', async (size) => {
    if (!truth) return;
    const { page, context } = await openPage(suite.browser, `${suite.server.address}#/table/${id}/measured`, size);
    await page.getByLabel('Which picture').selectOption({ label: 'birch-oval.jpg' });
    await page.locator('gw-picture-overlay path.gaps').first().waitFor();
    const open = truth.joints.filter((j) => j.open && j.visible);
    const { width: photoWidth, height: photoHeight } = truth.camera;
    /** How far each gap is drawn from where the photo shows one, pixels of the screen. */
    const offs = async (): Promise<number[]> => {
      const drawn = await page.locator('gw-picture-overlay path.gaps').evaluateAll((paths) =>
        paths.map((path) => {
          const at = (path as SVGGraphicsElement).getBoundingClientRect();
          const stage = (path.getRootNode() as ShadowRoot).host.getBoundingClientRect();
          return [at.x + at.width / 2 - stage.x, at.y + at.height / 2 - stage.y, stage.width, stage.height];
        }),
      );
      expect(drawn).toHaveLength(open.length);
      return drawn.map(([x, y, width, height]) => {
        // The whole photo fits into the stage: where its centre pixels should be is a matter of one scale.
        const scale = Math.min(width / photoWidth, height / photoHeight);
        const left = (width - photoWidth * scale) / 2;
        const top = (height - photoHeight * scale) / 2;
        const distances = open.map((j) =>
          Math.hypot(left + (j.centre_px[0] + 0.5) * scale - x, top + (j.centre_px[1] + 0.5) * scale - y),
        );
        return Math.min(...distances);
      });
    };
    // Until the photo is there the drawing is that of the picture shown before.
    await expect.poll(async () => Math.max(...(await offs()))).toBeLessThan(1);
    await context.close();
  });
});

describe.skipIf(!truth || !findChromium())('on a narrow phone', () => {
  const suite = pageSuite();

  test.each([320, 360])('nothing of the head line lies over another, and no screen is wider, %i px', async (width) => {
    const id = await suite.measuredTable();
    const address = `${suite.server.address}#/table/${id}/fillers`;
    const { page, context } = await openPage(suite.browser, address, sizes[0]);
    await page.setViewportSize({ width, height: 740 });
    await page.getByLabel('Gap 1 by the rule').waitFor();
    const boxes = await Promise.all(
      ['gw-app .brand', 'gw-undo-redo', 'gw-unit-switch'].map((part) => page.locator(part).boundingBox()),
    );
    boxes.forEach((a, i) => {
      for (const b of boxes.slice(i + 1)) {
        if (!a || !b) throw new Error('the head line is not on the screen');
        const beside = a.x + a.width <= b.x || b.x + b.width <= a.x;
        expect(beside || a.y + a.height <= b.y || b.y + b.height <= a.y).toBe(true);
      }
    });
    const field = page.getByLabel('Gap 1 by the rule');
    await field.fill('3 1/2');
    await field.blur();
    await page.getByText('The rule counts: ').waitFor({ timeout: 30_000 });
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBe(width);
    await context.close();
  });
});

async function middleOf(target: import('playwright-core').Locator): Promise<{ x: number; y: number }> {
  const box = await target.boundingBox();
  if (!box) throw new Error('it is not on the screen');
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
}

async function expectInSight(page: import('playwright-core').Page, selector: string): Promise<void> {
  const box = await page.locator(`gw-picture-overlay ${selector}`).boundingBox();
  const stage = await page.locator('gw-picture-view .stage').boundingBox();
  if (!box || !stage) throw new Error(`${selector} is not drawn`);
  expect(box.x).toBeGreaterThanOrEqual(stage.x);
  expect(box.x + box.width).toBeLessThanOrEqual(stage.x + stage.width);
  expect(box.y).toBeGreaterThanOrEqual(stage.y);
  expect(box.y + box.height).toBeLessThanOrEqual(stage.y + stage.height);
}
