import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { seededRandom } from '../../src/geometry/seeded-random.ts';
import { servePage, type ServedPage } from './served-page.ts';

let served: ServedPage;
beforeAll(async () => void (served = await servePage()));
afterAll(() => served?.close());

/** Four in the everyday run; `ROOFDATUM_MOMENTS=20` for a longer one. */
const MOMENTS = Number(process.env['ROOFDATUM_MOMENTS'] ?? 4);

/** Names of the steps in the history, newest first, and whether the title block says that all of them are saved. */
async function shownState(page: Page): Promise<{ saved: boolean; steps: number }> {
  return page.evaluate(() => {
    const cells = [...document.querySelectorAll('.title-block .cell')];
    const saved = cells.find((cell) => cell.textContent!.startsWith('saved here'))!.querySelector('.cell-value')!.textContent !== '';
    return { saved, steps: document.querySelectorAll('.steps li:not(.taken-back)').length };
  });
}

/** The kind of the first edge goes one on: a correction of the roof itself, with all that follows from it. */
async function correctAnEdge(page: Page): Promise<void> {
  const edges = page.locator('details.more');
  if ((await edges.getAttribute('open')) === null) await edges.locator('summary').click();
  await edges.locator('.row-name').first().click();
  await page.evaluate(() => (document.activeElement as HTMLElement).blur());
  await page.keyboard.press('k');
}

async function refuseOrBringBack(page: Page): Promise<void> {
  const back = page.getByRole('button', { name: 'Bring back' });
  if ((await back.count()) > 0) return back.first().click();
  await page.locator('.row-name', { hasText: /^p1$/ }).click();
  await page.getByRole('button', { name: 'Refuse p1' }).click();
}

test(`a tab closed at any of ${MOMENTS} moments loses nothing that was shown as saved`, async () => {
  const random = seededRandom(11);
  const { page: first } = await served.visit();
  const context = first.context();
  await first.waitForSelector('.hero .digits', { timeout: 60_000 });
  await first.waitForSelector('.spoken:not(.busy)');
  let page = first;
  let least = 0;
  let everSaved = 0;
  for (let moment = 0; moment < MOMENTS; moment++) {
    // Two decisions quickly one after the other, and the tab is gone somewhere near them.
    await page.keyboard.press('n');
    for (let step = 0; step < 2; step++) {
      await (step === 0 ? correctAnEdge(page) : refuseOrBringBack(page));
      await page.waitForTimeout(random.uniform() * 80);
    }
    const shown = await shownState(page);
    if (shown.saved) {
      least = shown.steps;
      everSaved++;
    }
    await page.close({ runBeforeUnload: false });
    page = await context.newPage();
    await page.goto(served.address);
    await page.waitForSelector('.hero .digits', { timeout: 60_000 });
    const { steps } = await shownState(page);
    expect(steps, `moment ${moment + 1}`).toBeGreaterThanOrEqual(least);
    least = steps;
  }
  // Moments that were never "saved" would prove nothing.
  expect(everSaved).toBeGreaterThan(0);
}, 60_000 + 15_000 * MOMENTS);
