import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { roofdatum, SAMPLE } from '../cli/run-command.ts';
import { servePage, type ServedPage } from './served-page.ts';

let served: ServedPage;
beforeAll(async () => {
  served = await servePage();
}, 120_000);
afterAll(() => served?.close());

it('a page and the command line write the same bytes for the same file', async () => {
  const { page } = await served.visit();
  await page.waitForSelector('.hero .digits', { timeout: 90_000 });
  await page.waitForSelector('.spoken:not(.busy)');
  const [download] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('Control+s')]);
  const { status, output } = roofdatum('survey', SAMPLE, '--json');
  expect(status).toBe(0);
  expect(readFileSync(await download.path(), 'utf8')).toBe(output);
}, 120_000);
