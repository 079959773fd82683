import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, test } from 'vitest';
import { servePage, type ServedPage } from './served-page.ts';

/** Takes the pictures of the page anew: `ROOFDATUM_PICTURES=1 npx vitest run tests/browser/pictures.test.ts`. */
const wanted = process.env['ROOFDATUM_PICTURES'] !== undefined;
const FOLDER = join(import.meta.dirname, '..', '..', 'sample-data', 'pictures');

let served: ServedPage;

async function openSample(dark: boolean, phone = false): Promise<Page> {
  const { page } = await served.visit(phone ? { viewport: { width: 390, height: 844 }, deviceScaleFactor: 2, hasTouch: true, colorScheme: dark ? 'dark' : 'light' } : { colorScheme: dark ? 'dark' : 'light' });
  await page.waitForSelector('.hero .digits', { timeout: 60_000 });
  await page.waitForSelector('.spoken:not(.busy)');
  return page;
}

const pointsBy = (page: Page, mode: string) => page.locator('.title-block select').nth(1).selectOption(mode);

async function take(page: Page, name: string): Promise<void> {
  // Two frames and the settling of the points.
  await page.waitForTimeout(900);
  await page.screenshot({ path: join(FOLDER, `${name}.png`) });
}

/** Shows the building with this many planes or more, the first there is. */
async function showBuilding(page: Page, planes: (count: number) => boolean): Promise<void> {
  const rows = await page.locator('.question-body tbody tr').evaluateAll((list) => list.map((row) => Number(row.querySelector('td.number')!.textContent)));
  const at = Math.max(0, rows.findIndex(planes));
  await page.locator('.question-body tbody .row-name').nth(at).click();
}

describe.skipIf(!wanted)('pictures of the page (set ROOFDATUM_PICTURES to take them)', () => {
  beforeAll(async () => {
    mkdirSync(FOLDER, { recursive: true });
    served = await servePage();
  });
  afterAll(() => served?.close());

  test('plan of the office with the evidence of a pitch, then a section', async () => {
    const page = await openSample(false);
    await showBuilding(page, (count) => count === 4);
    await page.locator('.row-name', { hasText: /^p1$/ }).click();
    await page.locator('button.reading').first().click();
    await take(page, '1-plan-evidence');
    await page.keyboard.press('Escape');
    await page.keyboard.press('s');
    await take(page, '2-section');
    await page.keyboard.press('p');
    await page.keyboard.press('6');
    await page.getByRole('button', { name: 'Place modules' }).click();
    await page.waitForSelector('.hero-number .digits', { timeout: 60_000 });
    await take(page, '3-modules');
  });

  test('free view on the dark paper, points in their colours, then by residual', async () => {
    const page = await openSample(true);
    await page.keyboard.press('f');
    await pointsBy(page, 'colour');
    await take(page, '4-free-colour-vandyke');
    await showBuilding(page, (count) => count > 4);
    await page.keyboard.press('3');
    await pointsBy(page, 'elevation');
    await take(page, '5-free-things-vandyke');
  });

  test('on a phone', async () => {
    const page = await openSample(false, true);
    await showBuilding(page, (count) => count === 4);
    await page.locator('.row-name', { hasText: /^p1$/ }).click();
    await take(page, '6-phone');
  });
});
