import type { Page } from 'playwright-core';
import { PNG } from 'pngjs';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { project, unproject, type Projection } from '../../src/viewer/projection.ts';
import { servePage, type ServedPage, type Visit } from './served-page.ts';

// A machine that does other things at the same time draws slowly without a graphics card.
vi.setConfig({ testTimeout: 120_000 });
const SOON = { timeout: 15_000 };

let served: ServedPage;
beforeAll(async () => void (served = await servePage()));
afterAll(() => served?.close());

async function openSample(options?: Parameters<ServedPage['visit']>[0]): Promise<Visit> {
  const visit = await served.visit(options);
  await visit.page.waitForSelector('.hero .digits', { timeout: 90_000 });
  await visit.page.waitForSelector('.spoken:not(.busy)');
  await atRest(visit.page);
  return visit;
}

const shown = (page: Page): Promise<{ view: Projection; points: number; frames: number }> =>
  page.evaluate(() => {
    const { view, points, frames } = document.querySelector<HTMLElement>('.board')!.dataset;
    return { view: JSON.parse(view!), points: Number(points), frames: Number(frames) };
  });

/** Waits until nothing more is drawn. */
async function atRest(page: Page): Promise<{ view: Projection; points: number }> {
  for (let last = -1; ; ) {
    const now = await shown(page);
    if (now.frames === last) return now;
    last = now.frames;
    await page.waitForTimeout(350);
  }
}

/** Waits until the view is as it is looked for, and then at rest. */
async function until(page: Page, is: (view: Projection) => boolean): Promise<{ view: Projection; points: number }> {
  await expect.poll(async () => is((await shown(page)).view), SOON).toBe(true);
  return atRest(page);
}

const isTilted = ({ toward }: Projection): boolean => toward[2] < 0.99;
const differs = (a: readonly number[], b: readonly number[]): boolean => a.some((value, i) => value !== b[i]);

const corner = async (page: Page): Promise<{ x: number; y: number }> => (await page.locator('.board').boundingBox())!;

/** Mean lightness of the drawing as it is seen, 0 to 255. */
async function lightness(page: Page): Promise<number> {
  const { data } = PNG.sync.read(await page.locator('.board').screenshot());
  let sum = 0;
  for (let i = 0; i < data.length; i += 4) sum += data[i]! + data[i + 1]! + data[i + 2]!;
  return sum / (0.75 * data.length);
}

/** Share of the drawing's pixels that are plainly red. */
async function redShare(page: Page): Promise<number> {
  const { data } = PNG.sync.read(await page.locator('.board').screenshot());
  let count = 0;
  for (let i = 0; i < data.length; i += 4) if (data[i]! > 140 && data[i + 1]! < 70 && data[i + 2]! < 70) count++;
  return count / (data.length / 4);
}

describe('views', () => {
  test('the free view turns, zooms to the pointer, centres, and is shaded by depth', async () => {
    const { page, faults } = await openSample();
    await page.keyboard.press('f');
    const first = (await until(page, isTilted)).view;
    const { x, y } = await corner(page);

    await page.mouse.move(x + 300, y + 300);
    await page.mouse.wheel(0, -500);
    const zoomed = (await until(page, (view) => view.pixelsPerMetre !== first.pixelsPerMetre)).view;
    expect(zoomed.pixelsPerMetre).toBeGreaterThan(first.pixelsPerMetre * 1.5);
    const [px, py] = project(zoomed, unproject(first, 300, 300));
    expect(px).toBeCloseTo(300, 3);
    expect(py).toBeCloseTo(300, 3);

    await page.mouse.down();
    await page.mouse.move(x + 420, y + 340, { steps: 4 });
    await page.mouse.up();
    const turned = (await until(page, (view) => differs(view.toward, zoomed.toward))).view;
    expect(turned.pixelsPerMetre).toBe(zoomed.pixelsPerMetre);

    await page.mouse.dblclick(x + 500, y + 400);
    const centred = (await until(page, (view) => differs(view.centre, turned.centre))).view;
    // The measured point under the pointer stands in the middle now: seen from before it lay at the pointer.
    const [wasX, wasY] = project(turned, centred.centre);
    expect(Math.hypot(wasX - 500, wasY - 400)).toBeLessThan(8);

    await page.keyboard.press('0');
    const inInk = (await atRest(page)).points;
    await page.locator('.title-block select').nth(1).selectOption('colour');
    await expect.poll(async () => (await shown(page)).points, SOON).toBeGreaterThan(2 * inInk);
    await atRest(page);
    const shaded = await lightness(page);
    await page.locator('.title-block button', { hasText: 'shown' }).click();
    await page.getByLabel('shade by depth').uncheck();
    await page.locator('dialog[open]').getByRole('button', { name: 'Close' }).click();
    await expect.poll(() => lightness(page), SOON).toBeGreaterThan(shaded + 0.5);
    expect(faults).toEqual([]);
  });

  test('a clip box is drawn in plan and set by number; a section gets thicker; an elevation turns', async () => {
    const { page, faults } = await openSample();
    await page.locator('.title-block select').nth(1).selectOption('elevation');
    const all = await atRest(page);
    const { x, y } = await corner(page);
    const { width, height } = all.view;
    await page.locator('.title-block button', { hasText: 'shown' }).click();
    await page.getByRole('button', { name: 'Draw it in plan' }).click();
    await page.mouse.move(x + width * 0.3, y + height * 0.3);
    await page.mouse.down();
    await page.mouse.move(x + width * 0.5, y + height * 0.5, { steps: 3 });
    await page.mouse.up();
    await expect.poll(() => page.textContent('.spoken'), SOON).toMatch(/^Clip box\./);

    // A bare point inside the box is taken.
    await page.keyboard.press('m');
    await page.keyboard.down('Shift');
    await page.mouse.move(x + width * 0.4, y + height * 0.4);
    await expect.poll(() => page.textContent('.spoken'), SOON).toMatch(/^Would take a bare point/);
    await page.keyboard.up('Shift');
    await page.keyboard.press('Escape');

    await page.locator('.title-block button', { hasText: 'shown' }).click();
    const from = Number(await page.getByLabel('east from', { exact: true }).inputValue());
    const to = Number(await page.getByLabel('east to', { exact: true }).inputValue());
    const wide = unproject(all.view, width * 0.5, 0)[0] - unproject(all.view, width * 0.3, 0)[0];
    expect(to - from).toBeGreaterThan(0.9 * wide);
    expect(to - from).toBeLessThan(1.1 * wide + 1);
    await page.getByRole('button', { name: 'All points' }).click();
    await page.locator('dialog[open]').getByRole('button', { name: 'Close' }).click();

    await page.keyboard.press('s');
    const thickness = page.getByLabel('strip');
    const before = Number(await thickness.inputValue());
    const few = (await atRest(page)).points;
    await page.locator('.board').focus();
    await page.keyboard.press(']');
    await page.keyboard.press(']');
    expect(Number(await thickness.inputValue())).toBeCloseTo(before * 2.25, 1);
    expect((await atRest(page)).points).toBeGreaterThanOrEqual(few);
    await page.keyboard.press('e');
    await expect.poll(() => page.textContent('.drawing-title'), SOON).toContain('from the south');
    await page.getByRole('button', { name: 'Turn on' }).click();
    await expect.poll(() => page.textContent('.drawing-title'), SOON).toContain('from the west');
    expect(faults).toEqual([]);
  });

  test('a mesh is drawn in its own colours, in place of the points that were laid on it', async () => {
    const { page, faults } = await served.visit();
    // While the sample is still being read: another file takes its place.
    await page.locator('input[data-file-chooser]').first().waitFor({ state: 'attached' });
    await page.locator('input[data-file-chooser]').first().setInputFiles({ name: 'red-house.obj', mimeType: 'text/plain', buffer: Buffer.from(redHouse()) });
    await expect.poll(() => page.textContent('.drawing-title p'), { timeout: 60_000 }).toContain('red-house');
    await page.waitForSelector('.spoken:not(.busy)', { timeout: 60_000 });
    expect((await atRest(page)).points).toBe(0);
    expect(await redShare(page)).toBeGreaterThan(0.03);
    await page.locator('.title-block button', { hasText: 'shown' }).click();
    await page.getByLabel('meshes').uncheck();
    await page.locator('dialog[open]').getByRole('button', { name: 'Close' }).click();
    expect((await atRest(page)).points).toBeGreaterThan(0);
    expect(await redShare(page)).toBeLessThan(0.005);
    expect(faults).toEqual([]);
  });

  test('two fingers pinch, one turns', async () => {
    const { page, faults } = await openSample({ viewport: { width: 390, height: 844 }, hasTouch: true });
    await page.getByLabel('View', { exact: true }).selectOption('free');
    const first = (await until(page, isTilted)).view;
    const { x, y } = await corner(page);
    const session = await page.context().newCDPSession(page);
    const touch = (type: 'touchStart' | 'touchMove' | 'touchEnd', ...places: readonly (readonly [number, number])[]) =>
      session.send('Input.dispatchTouchEvent', { type, touchPoints: places.map(([px, py], id) => ({ x: x + px, y: y + py, id })) });
    await touch('touchStart', [150, 150]);
    await touch('touchMove', [200, 160]);
    await touch('touchMove', [230, 165]);
    await touch('touchEnd');
    const turned = (await until(page, (view) => differs(view.toward, first.toward))).view;
    await touch('touchStart', [150, 150], [220, 150]);
    await touch('touchMove', [130, 150], [240, 150]);
    await touch('touchMove', [110, 150], [260, 150]);
    await touch('touchEnd');
    const pinched = (await until(page, (view) => view.pixelsPerMetre > turned.pixelsPerMetre * 1.5)).view;
    expect(pinched.toward).toEqual(turned.toward);
    expect(faults).toEqual([]);
  });
});

/** A gable house on level ground, its roof red: an OBJ file with colours at the corners. [m] */
function redHouse(): string {
  const corners: [number, number, number, string][] = [
    [-15, -15, 0, '0.5 0.5 0.5'], [25, -15, 0, '0.5 0.5 0.5'], [25, 25, 0, '0.5 0.5 0.5'], [-15, 25, 0, '0.5 0.5 0.5'],
    [0, 0, 4, '0.8 0.1 0.1'], [10, 0, 4, '0.8 0.1 0.1'], [10, 8, 4, '0.8 0.1 0.1'], [0, 8, 4, '0.8 0.1 0.1'],
    [0, 4, 7, '0.8 0.1 0.1'], [10, 4, 7, '0.8 0.1 0.1'],
  ];
  const faces = [[1, 2, 3], [1, 3, 4], [5, 6, 10], [5, 10, 9], [7, 8, 9], [7, 9, 10]];
  return [...corners.map(([x, y, z, colour]) => `v ${x} ${y} ${z} ${colour}`), ...faces.map((face) => `f ${face.join(' ')}`)].join('\n');
}
