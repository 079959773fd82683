import { readFile } from 'node:fs/promises';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import type { RoofRecord } from '../../src/roof/record.ts';
import { parseRecord } from '../../src/survey/validate-record.ts';
import { servePage, type ServedPage } from './served-page.ts';

// A machine that does other things at the same time draws slowly without a graphics card.
vi.setConfig({ testTimeout: 120_000 });

let served: ServedPage;
beforeAll(async () => void (served = await servePage()));
afterAll(() => served?.close());

async function savedRecord(page: Page): Promise<RoofRecord> {
  const [download] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('Control+s')]);
  return parseRecord(await readFile(await download.path(), 'utf8'), download.suggestedFilename());
}

test('an eave is read as what was measured, called the gutter lip by a stated offset, and brought back; its rules are left out', async () => {
  const { page, faults } = await served.visit();
  await page.waitForSelector('.hero .digits', { timeout: 90_000 });
  await page.waitForSelector('.spoken:not(.busy)');
  await page.keyboard.press('n');
  const before = await savedRecord(page);
  const id = before.buildings[0]!.edges.find(({ kind, measuredAs, regular }) => kind === 'eave' && measuredAs === 'cover-edge' && regular)!.id;
  const edgeOf = (record: RoofRecord) => record.buildings[0]!.edges.find((edge) => edge.id === id)!;

  await page.locator('summary', { hasText: 'with slope length and kind' }).click();
  await page.locator(`button[data-evidence="${id}:slopeLengthM"]`).click();
  const slip = page.locator('.slip');
  await slip.waitFor();
  expect(await slip.textContent()).toContain('Measured where the cover ends');
  expect(await slip.textContent()).toMatch(/“parallel or square” (kept|refused) \([\d.]+° off, p = [\d.]+\)/);

  await slip.getByRole('button', { name: /stand for another edge/ }).click();
  const dialog = page.locator('dialog[open]');
  await dialog.getByLabel('which lies').fill('0.12');
  await dialog.getByLabel('±').fill('0.02');
  await dialog.getByLabel('Why').fill('gutters of this street');
  await dialog.getByRole('button', { name: 'Call it so' }).click();
  await expect.poll(() => page.textContent('.spoken')).toContain('Gutter lip.');
  expect(await slip.textContent()).toContain('Stands for the gutter lip');
  const called = await savedRecord(page);
  expect(edgeOf(called)).toMatchObject({ measuredAs: 'gutter-lip', convertedFrom: { measuredAs: 'cover-edge', offsetM: { value: 0.12, u95: 0.02 }, why: 'gutters of this street' } });
  const plane = edgeOf(called).planes[0];
  const area = (record: RoofRecord) => record.buildings[0]!.roofPlanes.find((one) => one.id === plane)!.planAreaM2;
  expect(area(called).value!).toBeGreaterThan(area(before).value!);

  await page.keyboard.press('Control+z');
  await expect.poll(() => slip.textContent()).toContain('Measured where the cover ends');
  expect(edgeOf(await savedRecord(page))).toEqual(edgeOf(before));

  await slip.getByRole('button', { name: /as measured, without rules/ }).click();
  await expect.poll(() => slip.textContent()).toContain('Drawn to no rule, as a person decided');
  expect(edgeOf(await savedRecord(page)).regular!.off).toBe(true);
  expect(faults).toEqual([]);
});
