import { readFile } from 'node:fs/promises';
import { describe, expect, test } from 'vitest';
import { readPlanView, readPlanViewJpeg, readReport, saveMeasured } from '../../server/projects/measured-store.js';
import { inputsDigest } from '../../server/projects/table-document.js';
import { TableStore } from '../../server/projects/table-store.js';
import { oneDonor } from '../support/one-donor.js';
import { pageSuite, ovalTruth as truth } from '../support/page-suite.js';
import { findChromium, keepPicture, openPage, samplePhoto, sizes, violations } from '../support/page-under-test.js';

describe.skipIf(!truth || !findChromium())('checking again in the browser', () => {
  const suite = pageSuite();

  /** A table that was measured, planned, and measured again with one filler fitted badly. */
  async function cutTable(): Promise<string> {
    const id = await suite.measuredTable();
    const table = `${suite.server.address}api/tables/${id}`;
    const { table: document } = (await (await fetch(table)).json()) as { table: { version: number } };
    const headers = { 'content-type': 'application/json' };
    await fetch(table, {
      method: 'PATCH',
      headers,
      body: JSON.stringify({ version: document.version, stock: oneDonor }),
    });
    const planned = await fetch(`${table}/plan`, { method: 'POST' });
    expect(planned.status).toBe(200);
    const store = new TableStore(suite.server.home);
    // The same photos measured again would say nothing about the cuts.
    const photo = await readFile(samplePhoto('three-straights'));
    await fetch(`${table}/photos/after-the-cuts?name=after.jpg`, { method: 'PUT', body: new Uint8Array(photo) });
    const stored = await store.read(id);
    if (!stored.ok) throw new Error(stored.problem.code);
    const [report, planView, jpeg] = [
      await readReport(store, stored.value),
      await readPlanView(store, stored.value),
      await readPlanViewJpeg(store, stored.value),
    ];
    if (!report.ok || !planView.ok || !jpeg.ok) throw new Error('not measured');
    const open = report.value.joints.filter((j) => j.open).map((j) => j.id);
    const joints = report.value.joints.map((j) => {
      const value = j.id === open[0] ? 5 : Math.min(j.gap.value, 1);
      return { ...j, open: j.id === open[0], gap: { value, u: 0.2 }, rails: undefined };
    });
    const again = { report: { ...report.value, joints }, planView: planView.value, planViewJpeg: jpeg.value };
    const saved = await saveMeasured(store, id, inputsDigest(stored.value), again);
    if (!saved.ok) throw new Error(saved.problem.code);
    return id;
  }

  test('nothing is said to be from before the cuts where none were ever planned', async () => {
    const id = await suite.measuredTable();
    const { page, context } = await openPage(suite.browser, `${suite.server.address}#/table/${id}/check`, sizes[0]);
    await page.getByText('No fillers are planned yet').waitFor();
    await keepPicture(page, sizes[0], 'check-unplanned');
    expect(await page.getByRole('button', { name: /away/ }).count()).toBe(0);
    await page.getByRole('link', { name: 'Go to the fillers' }).waitFor();
    await context.close();
  });

  test.each(sizes)('planned and measured stand side by side, what is off first, $name', async (size) => {
    const id = await cutTable();
    const { page, errors, foreign, context } = await openPage(
      suite.browser,
      `${suite.server.address}#/table/${id}/check`,
      size,
    );
    const rows = page.locator('gw-check-table tbody');
    await rows.first().waitFor();
    await page.getByText(/^1 of \d+ is off\.$/).waitFor();
    expect(await rows.first().textContent()).toMatch(/Gap 1[\s\S]*✗ off[\s\S]*Push the sections together/);
    expect(await rows.nth(1).getAttribute('class')).not.toMatch(/off/);
    // Nothing of it lies beside the screen.
    const good = page.locator('gw-check-table summary');
    await good.click();
    await rows.nth(3).waitFor();
    const beside = await page
      .locator('gw-check-table .scroll')
      .evaluateAll((all) => all.map((box) => box.scrollWidth - box.clientWidth));
    expect(beside).toEqual([0, 0]);
    await rows.nth(1).scrollIntoViewIfNeeded();
    await keepPicture(page, size, 'check-good');
    await good.click();
    await rows.first().scrollIntoViewIfNeeded();
    await keepPicture(page, size, 'check-rows');
    await page.getByRole('button', { name: 'Show Gap 1 on the picture' }).click();
    await page.locator('gw-picture-overlay .label.chosen').waitFor();
    await page.waitForTimeout(500);
    await keepPicture(page, size, 'check-again');
    expect(await violations(page)).toEqual([]);
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('link', { name: 'Check sheet, PDF' }).click(),
    ]);
    expect(await download.failure()).toBeNull();
    // Only what shows the track as it lay before the cuts is taken away.
    await page.getByRole('button', { name: /^Take the photo from before away…/ }).click();
    await page.getByRole('button', { name: 'Take the photo from before away', exact: true }).click();
    await page.getByText('Done: only newer photos are left.').waitFor();
    const { table } = (await (await page.request.get(`${suite.server.address}api/tables/${id}`)).json()) as {
      table: { photos: { id: string }[] };
    };
    expect(table.photos.map((photo) => photo.id)).toEqual(['after-the-cuts']);
    // The comparison is still there: it speaks of the last measurement.
    expect(await rows.count()).toBeGreaterThan(3);
    expect({ errors, foreign }).toEqual({ errors: [], foreign: [] });
    await context.close();
  });
});
