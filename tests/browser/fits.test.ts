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

async function placeModules(page: Page, leastPlaneYield?: string): Promise<void> {
  if (leastPlaneYield !== undefined) {
    await page.locator('.fit-form summary').click();
    await page.getByLabel('least yield of a plane').fill(leastPlaneYield);
  }
  await page.locator('.fit-form button[type=submit]').click();
  await page.getByText('modules.', { exact: false }).first().waitFor(WAIT);
  await page.waitForSelector('.hand-tools', WAIT);
}

describe('what fits', () => {
  it('places modules, and count and energy follow each change by hand; undo brings back', async () => {
    const { page, faults } = await openFits();
    await placeModules(page);
    const before = await modules(page);
    // A hipped and a level roof; the sunny sides of the cottages are too small beside their dormers.
    expect(before).toBeGreaterThan(5);
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

  it('is worked by the keyboard alone: a module is shifted, taken away and placed from the drawing', async () => {
    const { page, faults } = await openFits();
    // Even rows, where there is a place beside, lie on the cottages' north sides alone.
    await placeModules(page, '0');
    const before = await modules(page);
    await page.locator('.hand-tools select').selectOption({ index: 1 });
    await page.locator('.board').focus();
    await page.keyboard.press('Delete');
    await expect.poll(() => modules(page), WAIT).toBe(before - 1);
    // Where one stood there is room for another to be shifted into.
    await page.locator('.hand-tools select').selectOption({ index: 1 });
    await page.locator('.board').focus();
    for (const key of ['ArrowLeft', 'ArrowRight', 'ArrowUp', 'ArrowDown']) await page.keyboard.press(`Shift+${key}`);
    await expect.poll(async () => spoken(page).textContent(), WAIT).toMatch(/modules|Not there/);
    await page.getByRole('button', { name: 'One beside it' }).focus();
    await page.keyboard.press('Enter');
    await expect.poll(() => modules(page), WAIT).toBe(before);
    // Undo takes back to the last free place, and Enter on the drawing asks for one in its middle.
    await page.getByRole('button', { name: 'Place one more' }).focus();
    await page.keyboard.press('Enter');
    await page.locator('.board').focus();
    await page.keyboard.press('Enter');
    await expect.poll(async () => spoken(page).textContent(), WAIT).toMatch(/modules|Not there/);
    await page.keyboard.press('Escape');
    await page.getByRole('button', { name: 'Place one more' }).waitFor(WAIT);
    expect(faults).toEqual([]);
  }, 120_000);

  it('leaves planes that face away from the sun empty, unless asked not to', async () => {
    const { page, faults } = await openFits();
    await placeModules(page);
    const usual = await modules(page);
    const away = page.locator('.table-room tr', { hasText: 'facing away' });
    expect(await away.count()).toBe(4);
    for (const row of await away.all()) expect(await row.locator('td').first().textContent()).toBe('0');
    await page.getByText('What the energy rests on').click();
    await page.getByText('are left empty and count as facing away').waitFor(WAIT);
    await placeModules(page, '0');
    await expect.poll(() => modules(page), WAIT).toBeGreaterThan(usual + 10);
    expect(await away.count()).toBe(0);
    expect(faults).toEqual([]);
  }, 120_000);

  it('follows when a thing is refused, within the same step; undo brings thing and modules back', async () => {
    const { page, faults } = await openFits();
    await placeModules(page);
    const before = await modules(page);
    await page.locator('table:has(th:text("what costs what")) .row-name').first().click();
    await page.keyboard.press('Delete');
    await expect.poll(async () => spoken(page).textContent(), WAIT).toMatch(/^refuse .*\d+ modules/);
    await page.keyboard.press('6');
    expect(await modules(page)).toBeGreaterThan(before);
    // What was not worked out again is said, and nothing is claimed of it.
    await page.getByText('Changed since.').waitFor(WAIT);
    expect(await page.getByText('No thing in the way costs a module here.').count()).toBe(0);
    await page.locator('.board').focus();
    await page.keyboard.press('Control+z');
    await expect.poll(() => modules(page), WAIT).toBe(before);
    await page.waitForTimeout(1500);
    expect(await modules(page)).toBe(before);
    expect(await page.getByText('Changed since.').count()).toBe(0);
    expect(faults).toEqual([]);
  }, 120_000);

  it("takes a person's own rules as a file, and says in one line what is wrong with one", async () => {
    const { page, faults } = await openFits();
    const rules = { schema: 'roofdatum-rules/1', name: 'a wide rim', source: { title: 'none', edition: 'none', date: 'none', where: 'none' }, caution: 'for the test', rules: [{ kind: 'edge-setback', edges: ['eave', 'ridge', 'hip', 'valley', 'rake', 'parapet', 'abutment', 'unknown'], distanceM: 0.1, along: 'plan', reason: 'edge', because: 'test' }] };
    const file = (text: string) => ({ name: 'own.json', mimeType: 'application/json', buffer: Buffer.from(text) });
    const open = page.getByLabel('or rules of your own');
    await open.setInputFiles(file(JSON.stringify({ ...rules, rules: [{ ...rules.rules[0], distanceM: -1 }] })));
    await expect.poll(async () => spoken(page).textContent(), WAIT).toMatch(/own\.json:.*rules\.0\.distanceM is -1, expected a number from 0 to 1000/);
    await open.setInputFiles(file(JSON.stringify(rules)));
    await page.getByText('Leave them out').waitFor(WAIT);
    await placeModules(page);
    expect(await page.locator('.table-room').textContent()).toContain('a wide rim');
    expect(faults).toEqual([]);
  }, 120_000);

  it("takes a person's own irradiation by month, and the energy is known better", async () => {
    const { page, faults } = await openFits();
    await placeModules(page);
    const doubt = async (): Promise<number> => Number(/±\s*(\d+)/.exec((await page.locator('.hero + .say').textContent())!)![1]);
    const wide = await doubt();
    await page.getByLabel('irradiation by month').setInputFiles({ name: 'town.csv', mimeType: 'text/csv', buffer: Buffer.from(MONTHLY) });
    await page.getByText('Leave it out').waitFor(WAIT);
    await placeModules(page);
    await expect.poll(doubt, WAIT).toBeLessThan(wide / 2);
    expect(faults).toEqual([]);
  }, 120_000);
});
