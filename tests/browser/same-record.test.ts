import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Page } from 'playwright-core';
import { roofdatum, SAMPLE } from '../cli/run-command.ts';
import { openDataFolder, openDataMissing, openDataNames } from '../fixtures/open-data.ts';
import { servePage, type ServedPage } from './served-page.ts';

let served: ServedPage;
beforeAll(async () => {
  served = await servePage();
}, 120_000);
afterAll(() => served?.close());

async function savedRecord(page: Page): Promise<string> {
  const [download] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('Control+s')]);
  return readFileSync(await download.path(), 'utf8');
}

async function openedSample(): Promise<Page> {
  const { page } = await served.visit();
  await page.waitForSelector('.hero .digits', { timeout: 90_000 });
  await page.waitForSelector('.spoken:not(.busy)');
  return page;
}

function byCommand(files: readonly string[]): string {
  const { status, output } = roofdatum('survey', ...files, '--json');
  expect(status).toBe(0);
  return output;
}

it('a page and the command line write the same bytes for the same file', async () => {
  expect(await savedRecord(await openedSample())).toBe(byCommand([SAMPLE]));
}, 120_000);

/** Folder, and the names of the files that make one survey together. */
const SURVEYS: readonly (readonly [string, RegExp])[] = [
  ['swiss-hall', /^sample_c_thin\.las$/],
  ['ign-770500', /^test_data_\d+_\d+_LA93_IGN69\.laz$/],
  ['delft-west', /^ahn3_cropped_1\.laz$/],
  ['mesh-derived', /\.glb$/],
];

describe.skipIf(openDataFolder === null)(`open data in a page and by command${openDataMissing}`, () => {
  it.each(SURVEYS)('%s', async (folder, names) => {
    const files = openDataNames(folder, names).map((name) => join(openDataFolder!, folder, name));
    const page = await openedSample();
    await page.setInputFiles('[data-file-chooser]', files);
    await expect.poll(() => page.textContent('.survey-name'), { timeout: 90_000 }).not.toContain('harbour');
    await page.waitForSelector('.spoken:not(.busy)', { timeout: 90_000 });
    expect(await savedRecord(page)).toBe(byCommand(files));
  }, 180_000);
});
