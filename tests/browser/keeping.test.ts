import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { seededRandom } from '../../src/geometry/seeded-random.ts';
import { doStep, startHistory } from '../../src/survey/history.ts';
import { saveSurvey } from '../../src/survey/saved-survey.ts';
import { gableRecord } from '../fixtures/gable-record.ts';
import { servePage, type ServedPage } from './served-page.ts';

let served: ServedPage;
beforeAll(async () => void (served = await servePage()));
afterAll(() => served?.close());

/** Four in the everyday run; `ROOFDATUM_MOMENTS=20` for a longer one. */
const MOMENTS = Number(process.env['ROOFDATUM_MOMENTS'] ?? 4);

/** How many steps of the history are in force, and whether the title block says that all of them are saved. */
async function shownState(page: Page): Promise<{ saved: boolean; steps: number }> {
  return page.evaluate(() => {
    const cells = [...document.querySelectorAll('.title-block .cell')];
    const saved = cells.find((cell) => cell.textContent!.startsWith('saved here'))!.querySelector('.cell-value')!.textContent !== '';
    return { saved, steps: [...document.querySelectorAll('.history tbody tr:not(.taken-back):not(.day) .number')].filter(({ textContent }) => textContent !== '0').length };
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
  // Moments that were never "saved", or had no step, would prove nothing.
  expect(everSaved).toBeGreaterThan(0);
  expect(least).toBeGreaterThan(MOMENTS);
}, 60_000 + 15_000 * MOMENTS);

test('a survey kept by the first form of the database is there, with its steps, and is kept on in the second', async () => {
  const { page, faults } = await served.visit();
  // A place of the same origin where the page itself does not run.
  await page.goto(await page.locator('link[rel=stylesheet]').first().evaluate((link: HTMLLinkElement) => link.href));
  const accept = { title: 'accept p1', at: '2026-05-01T09:12:00.000Z', command: { kind: 'add-decision', decision: { at: '2026-05-01T09:12:00.000Z', by: 'A.K.', what: 'accept', about: 'b1.p1' } } } as const;
  const saved = saveSurvey('gable of the first days', '2026-05-01T10:00:00.000Z', doStep(startHistory(gableRecord()), accept));
  await page.evaluate(async (survey) => {
    await new Promise((resolve) => (indexedDB.deleteDatabase('roofdatum').onsuccess = resolve));
    const opening = indexedDB.open('roofdatum', 1);
    opening.onupgradeneeded = () => {
      opening.result.createObjectStore('surveys', { keyPath: 'id' });
      opening.result.createObjectStore('files', { keyPath: 'id' });
      opening.result.createObjectStore('choices');
    };
    await new Promise((resolve) => (opening.onsuccess = resolve));
    const writing = opening.result.transaction(['surveys', 'choices'], 'readwrite');
    writing.objectStore('surveys').put({ id: 'old', saved: { ...survey, base: JSON.stringify(survey.base) } });
    writing.objectStore('choices').put('old', 'open');
    await new Promise((resolve) => (writing.oncomplete = resolve));
    opening.result.close();
  }, JSON.parse(JSON.stringify(saved)) as typeof saved);
  for (const steps of [1, 2, 1]) {
    await page.goto(served.address);
    await page.waitForSelector('.hero .digits', { timeout: 30_000 });
    await expect.poll(() => page.textContent('.survey-name')).toBe('gable of the first days');
    expect((await shownState(page)).steps).toBe(steps);
    // One more, then one taken back and another in its place: what is kept follows.
    await page.locator('.row-name', { hasText: /^p2$/ }).click();
    await page.keyboard.press(steps === 1 ? 'v' : 'Control+z');
    await expect.poll(() => page.textContent('.title-block')).toMatch(/saved here\d\d:\d\d:\d\d/);
  }
  expect(faults).toEqual([]);
}, 120_000);
