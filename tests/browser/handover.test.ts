import { createHash } from 'node:crypto';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { handover, HANDOVER_KINDS } from '../../src/handover/handover.ts';
import { recordHarbour } from '../fixtures/record-harbour.ts';
import { servePage, type ServedPage } from './served-page.ts';

let served: ServedPage;
beforeAll(async () => void (served = await servePage(join(import.meta.dirname, 'handover-page'))));
afterAll(() => served?.close());

test('a browser without network writes the same bytes as Node, every kind of file', async () => {
  const { page, faults } = await served.visit();
  const inBrowser = await page.evaluate(() => (globalThis as unknown as { written: Promise<{ name: string; sha256: string }[]> }).written);
  const files = await handover(recordHarbour(), HANDOVER_KINDS.map((one) => one.kind));
  expect(files.length).toBeGreaterThan(20);
  expect(inBrowser).toEqual(files.map(({ name, bytes }) => ({ name, sha256: createHash('sha256').update(bytes).digest('hex') })));
  expect(faults).toEqual([]);
}, 120_000);
