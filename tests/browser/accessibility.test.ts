import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { putMeasuredTable } from '../support/measured-table.js';
import { oneDonor } from '../support/one-donor.js';
import {
  findChromium,
  keepPicture,
  openPage,
  type RunningServer,
  sizes,
  startBrowser,
  startBuiltServer,
  violations,
} from '../support/page-under-test.js';
import { sceneTruth } from '../support/scene-truth.js';

const truth = sceneTruth('birch-oval');
const steps = ['sheet', 'photos', 'measured', 'wishes', 'fillers', 'cut', 'check'] as const;

describe.skipIf(!truth || !findChromium())('every screen', () => {
  let server: RunningServer;
  let browser: Browser;
  let id = '';
  const addresses = (): [string, string][] => [
    ['start', server.address],
    ...steps.map((s): [string, string] => [s, `${server.address}#/table/${id}/${s}`]),
    ['correcting', `${server.address}#/table/${id}/measured`],
  ];

  beforeAll(async () => {
    if (!truth) return;
    server = await startBuiltServer();
    id = await putMeasuredTable(server.home, 'Larkspur Lane', truth, 'birch-oval');
    const current = (await (await fetch(`${server.address}api/tables/${id}`)).json()) as { table: { version: number } };
    const wishes = {
      format: 'gapwright-wishes/1',
      clearance: [{ side: 'A', atLeastMm: 80, fromMm: 0, toMm: 900 }],
      keepFree: [{ name: 'tower', centre: [900, 600], widthMm: 90, depthMm: 90 }],
    };
    await fetch(`${server.address}api/tables/${id}`, {
      method: 'PATCH',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ version: current.table.version, stock: oneDonor, wishes }),
    });
    await fetch(`${server.address}api/tables/${id}/plan`, { method: 'POST' });
    browser = await startBrowser();
  });

  afterAll(async () => {
    await browser?.close();
    await server?.stop();
  });

  test.each(
    [
      { size: sizes[0], scheme: 'dark' as const },
      { size: sizes[1], scheme: 'light' as const },
    ].map((one) => ({ ...one, title: `${one.size.name}, ${one.scheme}` })),
  )(
    'has no violation that axe can find, asks nobody else, and has one main heading: $title',
    async ({ size, scheme }) => {
      const { page, foreign, errors, context } = await openPage(browser, server.address, size, { colorScheme: scheme });
      const found: string[] = [];
      for (const [name, address] of addresses()) {
        await page.goto(address);
        await settled(page, name);
        await openDetails(page);
        found.push(...(await violations(page)).map((v) => `${name}: ${v}`));
        expect(await page.locator('h1').count(), name).toBe(1);
        expect(await page.title()).toMatch(/Gapwright/);
        await keepPicture(page, size, `screen-${name}-${scheme}`);
      }
      expect(found).toEqual([]);
      expect({ foreign, errors }).toEqual({ foreign: [], errors: [] });
      await context.close();
    },
  );

  test('axe would find a violation if there were one', async () => {
    const { page, context } = await openPage(browser, server.address, sizes[1]);
    await page.evaluate(() => {
      const image = document.createElement('img');
      image.src = '/icon.svg';
      document.body.append(image);
    });
    expect((await violations(page)).join()).toMatch(/image-alt/);
    await context.close();
  });

  test.each([
    ['a desk at 200 % zoom', { name: 'zoomed', width: 720, height: 450, phone: false }],
    ['the narrowest screen of WCAG 2.2, 320 wide', { name: 'narrow', width: 320, height: 640, phone: false }],
  ] as const)('needs no sideways scrolling on %s', async (_, size) => {
    const { page, context } = await openPage(browser, server.address, size as unknown as (typeof sizes)[number]);
    for (const [name, address] of addresses()) {
      await page.goto(address);
      await settled(page, name);
      await openDetails(page);
      const over = await page.evaluate(
        () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
      );
      expect(over, name).toBeLessThanOrEqual(0);
      await keepPicture(page, size as unknown as (typeof sizes)[number], `screen-${name}`);
    }
    await context.close();
  });

  test.each(sizes)('has targets large enough to touch: 44 × 44 at least for every button, $name', async (size) => {
    const { page, context } = await openPage(browser, server.address, size);
    const small: string[] = [];
    for (const [name, address] of addresses()) {
      await page.goto(address);
      await settled(page, name);
      const boxes = await page
        .locator('button:not(.skip):visible, a.button:visible, select:visible')
        .evaluateAll((all) =>
          all.map((e) => {
            const { width, height } = e.getBoundingClientRect();
            return { text: e.textContent?.trim().slice(0, 30) ?? '', width, height };
          }),
        );
      // Inside a sentence 24 px count (WCAG 2.2, 2.5.8): the names of gaps in the list of fillers.
      for (const b of boxes) {
        if (b.height < (/^Gap \d+$/.test(b.text) ? 36 : 44) || b.width < 40)
          small.push(`${name}: ${b.text} ${b.width}×${b.height}`);
      }
    }
    expect(small).toEqual([]);
    await context.close();
  });

  test('with reduced motion nothing moves by itself', async () => {
    const { page, context } = await openPage(browser, `${server.address}#/table/${id}/measured`, sizes[1], {
      reducedMotion: 'reduce',
    });
    await settled(page, 'measured');
    expect(await page.evaluate(() => document.getAnimations().length)).toBe(0);
    await context.close();
  });

  test('the whole path can be walked with the keyboard alone', async () => {
    const { page, context } = await openPage(browser, `${server.address}#/table/${id}/sheet`, sizes[1]);
    await page.getByRole('heading', { name: 'Print a marker sheet' }).waitFor();
    for (const heading of [
      'Photograph the track as it lies',
      'The measured plan',
      'What you wish, and what you have',
      'The fillers to cut',
      'Cut',
      'Check again',
    ]) {
      await tabTo(page, /^Next: /);
      await page.keyboard.press('Enter');
      await page.getByRole('heading', { name: heading, exact: true }).waitFor();
      // The focus goes to the new heading, so that a screen reader starts there.
      await expect.poll(() => focusText(page)).toBe(heading);
    }
    await context.close();
  });
});

/** Presses Tab until the focus is on something whose text matches; fails when it comes round without. */
async function tabTo(page: Page, text: RegExp): Promise<void> {
  for (let i = 0; i < 200; i++) {
    await page.keyboard.press('Tab');
    if (text.test(await focusText(page))) return;
  }
  throw new Error(`no way to ${text} by Tab`);
}

function focusText(page: Page): Promise<string> {
  return page.evaluate(() => {
    let at = document.activeElement;
    while (at?.shadowRoot?.activeElement) at = at.shadowRoot.activeElement;
    return at?.textContent?.trim() ?? '';
  });
}

/** What the screen waits for has come. */
async function settled(page: Page, name: string): Promise<void> {
  const wait: Record<string, string> = {
    measured: 'gw-measured-list li',
    wishes: 'gw-picture-overlay svg',
    fillers: 'gw-filler-list li',
    cut: 'gw-file-list a',
  };
  await page
    .locator(wait[name] ?? 'h1')
    .first()
    .waitFor({ timeout: 60_000 });
  if (name === 'correcting') {
    await page.getByRole('button', { name: /correct it by hand/ }).click();
    await page.getByLabel('What is wrong?').selectOption({ label: 'Track was missed' });
    await page.locator('gw-picture-view .stage').click();
    await page.getByText(/One place so far\./).waitFor();
  }
  await page.waitForTimeout(400);
}

/** Everything folded away is part of the screen too. */
async function openDetails(page: Page): Promise<void> {
  await page.locator('details').evaluateAll((all) => {
    for (const details of all) (details as HTMLDetailsElement).open = true;
  });
  await page.waitForTimeout(100);
}
