import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { servePage, type ServedPage } from './served-page.ts';

const WAIT = { timeout: 60_000 };
/** Irradiation of the level, a middling climate. */
const MONTHLY = `month,kwh_m2\n${[20, 35, 75, 115, 155, 165, 160, 135, 90, 50, 25, 15].map((value, i) => `${i + 1},${value}`).join('\n')}\n`;

let served: ServedPage;

beforeAll(async () => (served = await servePage()));
afterAll(() => served?.close());

const spoken = (page: Page) => page.locator('.spoken').first();
const modules = async (page: Page): Promise<number> => Number(/\d+/.exec((await page.locator('.hero-number').first().textContent())!)![0]);

async function openFits(reducedMotion: 'reduce' | 'no-preference' = 'no-preference'): Promise<{ page: Page; faults: string[] }> {
  const { page, faults } = await served.visit({ reducedMotion });
  await page.waitForSelector('.hero .digits', WAIT);
  await page.waitForSelector('.spoken:not(.busy)', WAIT);
  await page.keyboard.press('6');
  return { page, faults };
}

async function placeModules(page: Page): Promise<void> {
  await page.locator('.fit-form button[type=submit]').click();
  await page.getByText('modules.', { exact: false }).first().waitFor(WAIT);
  await page.waitForSelector('.hand-tools', WAIT);
}

describe('what fits', () => {
  it('places modules, and count and energy follow each change by hand; undo brings back', async () => {
    const { page, faults } = await openFits();
    await placeModules(page);
    const before = await modules(page);
    expect(before).toBeGreaterThan(10);
    await page.locator('.hand-tools select').selectOption({ index: 2 });
    await page.getByRole('button', { name: 'Take it away' }).click();
    await expect.poll(() => modules(page), WAIT).toBe(before - 1);
    expect(await spoken(page).textContent()).toContain(`${before - 1} modules`);
    await page.locator('.hand-tools select').selectOption({ index: 2 });
    await page.keyboard.press('Control+z');
    await expect.poll(() => modules(page), WAIT).toBe(before);
    expect(faults).toEqual([]);
  }, 120_000);

  it('shows shade on the roof by year and walks a day, an hour a second for who wants less motion', async () => {
    const { page, faults } = await openFits('reduce');
    await page.getByLabel('shade shown').selectOption('year');
    await page.waitForSelector('.shade-legend li', WAIT);
    expect(await page.locator('.shade-legend').textContent()).toContain('95 % and more');
    expect(await page.locator('.shade-tools').textContent()).toContain('Shade from the record and the measured points.');
    await page.getByLabel('shade shown').selectOption('moment');
    const slider = page.getByLabel('solar time');
    await slider.focus();
    await page.keyboard.press('Home');
    expect(await slider.inputValue()).toBe('0');
    await page.keyboard.press('ArrowRight');
    expect(await slider.inputValue()).toBe('1');
    await page.getByRole('button', { name: 'Play the day' }).click();
    await expect.poll(() => slider.inputValue(), WAIT).toBe('7');
    await page.getByRole('button', { name: 'Stop' }).click();
    expect(await slider.getAttribute('aria-valuetext')).toMatch(/^\d\d:\d\d$/);
    expect(faults).toEqual([]);
  }, 120_000);

  it("takes a person's own irradiation by month, and the energy is known better", async () => {
    const { page, faults } = await openFits();
    await placeModules(page);
    const doubt = async (): Promise<number> => Number(/±\s*(\d+)/.exec((await page.locator('.hero + .say').textContent())!)![1]);
    const wide = await doubt();
    await page.locator('.fit-form input[type=file]').setInputFiles({ name: 'town.csv', mimeType: 'text/csv', buffer: Buffer.from(MONTHLY) });
    await page.getByText('Leave it out').waitFor(WAIT);
    await placeModules(page);
    await expect.poll(doubt, WAIT).toBeLessThan(wide / 2);
    expect(faults).toEqual([]);
  }, 120_000);
});
