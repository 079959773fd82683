import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { planeElevationAt } from '../../src/geometry/plane.ts';
import type { Vector3 } from '../../src/geometry/vector.ts';
import type { Building, RoofPlane, RoofRecord } from '../../src/roof/record.ts';
import { parseRecord } from '../../src/survey/validate-record.ts';
import { roomiestPlace } from '../../src/viewer/label-place.ts';
import { project, type Projection } from '../../src/viewer/projection.ts';
import { servePage, type ServedPage, type Visit } from './served-page.ts';

const axePath = createRequire(import.meta.url).resolve('axe-core/axe.min.js');

// A machine that does other things at the same time draws slowly without a graphics card.
vi.setConfig({ testTimeout: 120_000 });

let served: ServedPage;
beforeAll(async () => void (served = await servePage()));
afterAll(() => served?.close());

/** The sample's record is computed in the page; its first number then stands in the ledger. */
async function openSample(options?: Parameters<ServedPage['visit']>[0]): Promise<Visit> {
  const visit = await served.visit(options);
  // Whichever comes first: the record, or the page's own word that it failed.
  await visit.page.waitForSelector('.hero .digits, .spoken:has-text("our fault")', { timeout: 90_000 });
  await visit.page.waitForSelector('.spoken:not(.busy)');
  if ((await visit.page.locator('.hero .digits').count()) === 0) throw new Error(`The sample was not opened: ${await spoken(visit.page)} ${visit.faults.join('; ')}`);
  return visit;
}

/** How long the page may take to say what it did. */
const SOON = { timeout: 10_000 };

const spoken = (page: Page): Promise<string | null> => page.textContent('.spoken');

/** Serious and critical findings of axe, one line each. */
async function seriousFindings(page: Page): Promise<string[]> {
  await page.addScriptTag({ path: axePath });
  const found = await page.evaluate(async () => {
    const { axe } = globalThis as unknown as { axe: { run(): Promise<{ violations: { id: string; impact: string; nodes: { html: string }[] }[] }> } };
    return (await axe.run()).violations.map(({ id, impact, nodes }) => ({ id, impact, html: nodes[0]!.html }));
  });
  return found.filter(({ impact }) => impact === 'serious' || impact === 'critical').map(({ id, html }) => `${id}: ${html}`);
}

async function savedRecord(page: Page): Promise<RoofRecord> {
  const [download] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('Control+s')]);
  return parseRecord(await readFile(await download.path(), 'utf8'), download.suggestedFilename());
}

async function inkedPixels(page: Page): Promise<number> {
  return page.locator('[data-testid=ink]').evaluate((canvas: HTMLCanvasElement) => {
    const { data } = canvas.getContext('2d')!.getImageData(0, 0, canvas.width, canvas.height);
    let count = 0;
    for (let i = 3; i < data.length; i += 4) if (data[i]! > 0) count++;
    return count;
  });
}

describe('a designer at the sheet', () => {
  test('opens the sample, reads a plane, measures a length, takes it back, reloads and saves', async () => {
    const { page, faults } = await openSample();
    expect(await inkedPixels(page)).toBeGreaterThan(5000);

    // Reads a number of the first plane of the first building, and what stands behind it.
    await page.keyboard.press('n');
    const pitch = page.locator('button.reading[aria-label^="pitch of p1,"]');
    expect(await pitch.getAttribute('aria-label')).toMatch(/^pitch of p1, [\d.]+° ± [\d.]+, show evidence$/);
    await pitch.click();
    const slip = page.locator('.slip');
    await slip.waitFor();
    expect(await slip.textContent()).toMatch(/points, rms [\d.]+ mm/);
    await page.keyboard.press('Escape');
    await expect.poll(() => slip.count(), SOON).toBe(0);
    expect(await page.evaluate(() => document.activeElement?.getAttribute('data-evidence'))).toMatch(/:pitchDeg$/);

    // Measures between the middles of two planes, by pointer, with the whole site in sight.
    await page.getByRole('button', { name: 'All', exact: true }).click();
    await expect.poll(() => page.textContent('.drawing-title')).toContain('the whole site');
    const first = await savedRecord(page);
    await page.keyboard.press('m');
    const board = (await page.locator('.board').boundingBox())!;
    const places = await inDrawing(page, insideTwoPlanes(first));
    await page.mouse.move(board.x + places[0]!.x, board.y + places[0]!.y);
    await expect.poll(() => spoken(page), SOON).toMatch(/^Would take /);
    await page.mouse.click(board.x + places[0]!.x, board.y + places[0]!.y);
    await page.mouse.click(board.x + places[1]!.x, board.y + places[1]!.y);
    await expect.poll(() => spoken(page), SOON).toMatch(/^Distance along the slope: [\d.]+ m ± [\d.]+/);
    await page.keyboard.press('Escape');

    const measured = await savedRecord(page);
    expect(measured.readings.map(({ kind }) => kind)).toEqual(['distance', 'level-distance', 'height-difference']);
    const [slope, level, height] = measured.readings.map(({ valueM }) => valueM!.value!);
    expect(Math.hypot(level!, height!)).toBeCloseTo(slope!, 6);

    // Moves an outline corner: the record keeps both places, and derives the plane's area again.
    await page.keyboard.press('c');
    const [corner, elsewhere] = await inDrawing(page, [freeCorner(first), freeCorner(first).map((v, axis) => v + (axis < 2 ? 0.7 : 0)) as unknown as Vector3]);
    await page.mouse.click(board.x + corner!.x, board.y + corner!.y);
    await expect.poll(() => spoken(page), SOON).toMatch(/^Now click where it belongs/);
    await page.mouse.click(board.x + elsewhere!.x, board.y + elsewhere!.y);
    await expect.poll(() => spoken(page), SOON).toMatch(/^(Corner of p\d+ moved|Would take|That is no)/);
    const corrected = await savedRecord(page);
    expect(corrected.decisions.map(({ what }) => what)).toEqual(['correct']);
    expect(planesOf(corrected).filter((plane, i) => plane.planAreaM2.value !== planesOf(first)[i]!.planAreaM2.value)).toHaveLength(1);
    await page.keyboard.press('Control+z');
    expect((await savedRecord(page)).buildings).toEqual(first.buildings);

    // Refuses a thing in the way, takes that back, reloads: the reading is still there, the refusal is not.
    await page.keyboard.press('3');
    await page.locator('.question-body .row-name', { hasText: /^O1$/ }).first().click();
    await page.getByRole('button', { name: 'Not there' }).click();
    await expect.poll(() => page.locator('tr.refused').count(), SOON).toBe(1);
    await page.keyboard.press('Control+z');
    await expect.poll(() => page.locator('tr.refused').count(), SOON).toBe(0);
    await expect.poll(() => page.textContent('.title-block')).toMatch(/saved here\d\d:\d\d:\d\d/);
    await page.reload();
    await page.waitForSelector('.hero .digits');
    expect((await savedRecord(page)).readings).toEqual(measured.readings);
    expect((await savedRecord(page)).decisions).toEqual([]);
    expect(faults).toEqual([]);
  });

  test('a checker takes two heights and a distance, and sees what one of them consists of', async () => {
    const { page, faults } = await openSample();
    const board = (await page.locator('.board').boundingBox())!;
    const click = (place: { x: number; y: number }) => page.mouse.click(board.x + place.x, board.y + place.y);
    await page.keyboard.press('3');
    await page.getByRole('button', { name: 'Measure a height' }).click();
    const [low, high] = await inDrawing(page, insideTwoPlanes(await savedRecord(page)));
    for (let height = 0; height < 2; height++) {
      await click(height === 0 ? low! : high!);
      await click(height === 0 ? high! : low!);
      await expect.poll(() => spoken(page), SOON).toMatch(/^Height above roof: /);
    }
    await page.keyboard.press('m');
    await click(low!);
    await click(high!);
    await expect.poll(() => spoken(page), SOON).toMatch(/^Distance along the slope: /);
    await page.keyboard.press('Escape');
    await page.locator('button.reading[aria-label^="Distance along the slope"]').click();
    expect(await page.locator('.slip').textContent()).toMatch(/pick 1, (plane|corner|edge).*% ?/);
    const { readings } = await savedRecord(page);
    expect(readings.map(({ kind }) => kind)).toEqual(['height-above-roof', 'height-above-roof', 'distance', 'level-distance', 'height-difference']);
    expect(faults).toEqual([]);
  });

  test('the same by keyboard alone: view, question, reading, measure, undo', async () => {
    const { page, faults } = await openSample();
    await page.keyboard.press('f');
    expect(await page.getAttribute('.views button:nth-child(4)', 'aria-pressed')).toBe('true');
    await page.keyboard.press('p');
    await page.keyboard.press('3');
    await expect.poll(() => page.locator('.question.is-open .ask').textContent()).toBe('What is in the way?');
    await page.keyboard.press('2');
    await page.locator('.question-head').first().focus();
    await page.keyboard.press('ArrowDown');
    expect(await page.evaluate(() => document.activeElement?.textContent)).toContain('What is the roof?');
    await page.keyboard.press('m');
    await page.locator('.board').focus();
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('Shift+Enter');
    for (let i = 0; i < 4; i++) await page.keyboard.press('Control+ArrowDown');
    await page.keyboard.press('Shift+Enter');
    await expect.poll(() => spoken(page), SOON).toMatch(/^Distance along the slope: /);
    await page.keyboard.press('Escape');
    await page.keyboard.press('Control+z');
    await expect.poll(() => spoken(page), SOON).toMatch(/^Taken back: measure distance: [\d.]+ m ± [\d.]+\.$/);
    expect((await savedRecord(page)).readings).toEqual([]);
    expect(faults).toEqual([]);
  });

  test('draws every view, and nothing while nothing changes', async () => {
    const { page, faults } = await openSample();
    for (const key of ['p', 's', 'e', 'f']) {
      await page.keyboard.press(key);
      await page.waitForTimeout(400);
      expect(await inkedPixels(page), `view ${key}`).toBeGreaterThan(3000);
    }
    const frames = await page.evaluate(async () => {
      const before = Number(document.querySelector<HTMLElement>('.board')!.dataset['frames']);
      await new Promise((resolve) => setTimeout(resolve, 600));
      return Number(document.querySelector<HTMLElement>('.board')!.dataset['frames']) - before;
    });
    expect(frames).toBe(0);
    expect(faults).toEqual([]);
  });

  test('a region drawn in plan is surveyed alone', async () => {
    const { page, faults } = await openSample();
    const all = (await savedRecord(page)).sources[0]!.pointCount;
    await page.keyboard.press('1');
    await page.getByRole('button', { name: 'Only a region' }).click();
    const { x, y, width, height } = (await page.locator('.board').boundingBox())!;
    for (const [across, down] of [[0.5, 0.45], [0.9, 0.45], [0.9, 0.8], [0.5, 0.8], [0.5, 0.45]] as const) await page.mouse.click(x + width * across, y + height * down);
    await expect.poll(() => page.textContent('.survey-name'), { timeout: 20_000 }).toContain(', a region');
    await page.waitForSelector('.spoken:not(.busy)');
    const kept = (await savedRecord(page)).sources[0]!.pointCount;
    expect(kept).toBeGreaterThan(100);
    expect(kept).toBeLessThan(all / 2);
    expect(faults).toEqual([]);
  });

  test('a file that is no survey is refused with a line that names it, and the sheet stays', async () => {
    const { page, faults } = await openSample();
    const before = await page.textContent('.survey-name');
    await page.setInputFiles('[data-file-chooser]', { name: 'notes.las', mimeType: 'application/octet-stream', buffer: Buffer.from('not a survey at all') });
    await expect.poll(() => spoken(page), { timeout: 20_000 }).toMatch(/^notes\.las: /);
    expect(await page.textContent('.survey-name')).toBe(before);
    expect(faults).toEqual([]);
  });
});

describe('correcting what was found', () => {
  test('a plane is split along a line and merged again; readings follow, labels too, and all of it is there after a reload', async () => {
    const { page, faults } = await openSample();
    const before = await savedRecord(page);
    const { building, plane } = plainPlane(before);
    for (const { id } of before.buildings) {
      await page.keyboard.press('n');
      if (id === building.id) break;
    }
    await page.waitForTimeout(300);
    const board = (await page.locator('.board').boundingBox())!;
    const click = async (at: Vector3): Promise<void> => {
      const [place] = await inDrawing(page, [at]);
      await page.mouse.click(board.x + place!.x, board.y + place!.y);
    };
    const middle = middleOf(plane);
    const [start, end] = acrossPlane(plane);

    // A height above the plane first: it must follow what happens to the plane.
    await page.keyboard.press('h');
    await click(middle);
    await click(start);
    await expect.poll(() => spoken(page), SOON).toMatch(/^Height above roof: /);
    await page.keyboard.press('Escape');

    await page.keyboard.press('x');
    await expect.poll(() => page.locator('.measure-tools').textContent()).toContain('A line through a plane makes two of it');
    await click(start);
    await page.getByLabel('why').fill('two roofs of one pitch');
    await page.locator('.board').focus();
    await click(end);
    await expect.poll(() => spoken(page), { timeout: 30_000 }).toMatch(/is two planes now: pitch [\d.]+° ± [\d.]+, [\d.]+ m² ± [\d.]+; .*1 reading taken again\./);
    const split = await savedRecord(page);
    const parts = split.decisions[0]!.after as { roofPlanes: { id: string }[] };
    expect(split.decisions[0]).toMatchObject({ what: 'correct', why: 'two roofs of one pitch', before: { roofPlanes: [{ id: plane.id }] } });
    expect(buildingOf(split, building.id).roofPlanes).toHaveLength(building.roofPlanes.length + 1);
    expect(split.readings[0]!.note).toMatch(/taken again/);
    const areas = parts.roofPlanes.map(({ id }) => buildingOf(split, building.id).roofPlanes.find((part) => part.id === id)!.planAreaM2.value!);
    expect(areas.reduce((sum, area) => sum + area, 0)).toBeCloseTo(plane.planAreaM2.value!, 0);

    // Points of the new plane are its own, also after they were read again.
    const smaller = parts.roofPlanes.map(({ id }) => id).find((id) => id !== plane.id)!;
    const residuals = page.locator('.residual-field');
    const showPitch = async (): Promise<void> => {
      await page.locator(`[data-evidence="${smaller}:pitchDeg"]`).click();
      await residuals.waitFor({ timeout: 30_000 });
    };
    await showPitch();
    const points = await residuals.getAttribute('aria-label');
    await expect.poll(() => page.textContent('.title-block')).toMatch(/saved here\d\d:\d\d:\d\d/);
    await page.reload();
    await page.waitForSelector('.hero .digits');
    await page.waitForSelector('.spoken:not(.busy)');
    await page.getByLabel('Building shown').selectOption(building.id);
    await expect.poll(async () => {
      if ((await residuals.count()) === 0) await page.locator(`[data-evidence="${smaller}:pitchDeg"]`).click();
      return residuals.getAttribute('aria-label', { timeout: 1000 }).catch(() => null);
    }, { timeout: 30_000 }).toBe(points);

    await page.keyboard.press('Escape');
    await page.keyboard.press('Escape');
    await page.keyboard.press('j');
    for (const { id } of parts.roofPlanes) await click(middleOf(buildingOf(split, building.id).roofPlanes.find((part) => part.id === id)!));
    await expect.poll(() => spoken(page), { timeout: 30_000 }).toMatch(/are one plane: pitch/);
    const merged = await savedRecord(page);
    expect(buildingOf(merged, building.id).roofPlanes).toHaveLength(building.roofPlanes.length);
    await expect.poll(() => page.textContent('.title-block')).toMatch(/saved here\d\d:\d\d:\d\d/);

    await page.reload();
    await page.waitForSelector('.hero .digits');
    await page.waitForSelector('.spoken:not(.busy)');
    expect((await savedRecord(page)).buildings).toEqual(merged.buildings);
    // Undone one by one, down to what the survey gave.
    for (let step = 0; step < 3; step++) await page.keyboard.press('Control+z');
    await expect.poll(async () => (await savedRecord(page)).buildings, SOON).toEqual(before.buildings);
    expect(faults).toEqual([]);
  });

  test('by keyboard alone: places from corner to corner, nudged by millimetres and typed, and a kind of edge set', async () => {
    const { page, faults } = await openSample();
    await page.keyboard.press('n');
    await page.keyboard.press('m');
    await page.locator('.board').focus();
    await page.keyboard.press('.');
    await expect.poll(() => spoken(page), SOON).toMatch(/^Would take corner of/);
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('Shift+ArrowRight');
    await expect.poll(() => spoken(page), SOON).toMatch(/moved 11 mm right/);
    await page.keyboard.press('Enter');
    await page.keyboard.press('.');
    // A digit begins a typed place, and lands in its field.
    await page.keyboard.type('2.5');
    await page.keyboard.press('Enter');
    await expect.poll(() => spoken(page), SOON).toMatch(/^Distance along the slope: /);
    const { readings } = await savedRecord(page);
    expect(readings[0]!.valueM!.value).toBeCloseTo(2.5, 6);
    expect(readings[0]!.picks.map(({ landedOn }) => landedOn)).toEqual(['typed', 'typed']);
    await page.keyboard.press('Escape');
    await page.locator('.board').focus();
    await page.keyboard.press('Escape');
    await page.keyboard.press('Escape');

    await page.getByText(/edges, with slope length and kind/).click();
    await page.locator('.question-body .row-name', { hasText: /^[EKRHVAUP]1$/ }).first().click();
    const kind = page.locator('select[aria-label^="kind of"]');
    const was = await kind.inputValue();
    await page.evaluate(() => (document.activeElement as HTMLElement).blur());
    await page.keyboard.press('k');
    await expect.poll(() => spoken(page), SOON).toContain(`; it was ${was}.`);
    expect((await savedRecord(page)).decisions.at(-1)).toMatchObject({ what: 'correct', before: was });
    expect(faults).toEqual([]);
  });
});

describe('everyone can use it', () => {
  test('axe finds nothing serious in any question, on either paper', async () => {
    // Without motion: a slip caught half open is measured against the wrong ground.
    const { page, faults } = await openSample({ reducedMotion: 'reduce' });
    await page.keyboard.press('n');
    await page.locator('button.reading').first().click();
    expect(await seriousFindings(page), 'evidence').toEqual([]);
    await page.evaluate(() => (document.activeElement as HTMLElement).blur());
    for (const key of ['x', 'm', '?']) {
      await page.keyboard.press(key);
      expect(await seriousFindings(page), `after ${key}`).toEqual([]);
    }
    await page.keyboard.press('Escape');
    await page.keyboard.press('Escape');
    for (const question of ['1', '2', '3', '4', '5', '6', '7']) {
      await page.keyboard.press(question);
      // Every other one on the dark paper: what differs between papers is colour alone.
      await page.locator('.title-block select').last().selectOption(Number(question) % 2 ? 'vandyke' : 'film');
      expect(await seriousFindings(page), `question ${question}`).toEqual([]);
      await page.evaluate(() => (document.activeElement as HTMLElement).blur());
    }
    expect(faults).toEqual([]);
  });

  test('on a phone: axe finds nothing serious, and every control of the frame is at least 48 px', async () => {
    const { page, faults } = await openSample({ viewport: { width: 390, height: 844 }, hasTouch: true });
    expect(await seriousFindings(page)).toEqual([]);
    const small = await page.locator('.phone-bar > button, .phone-row button, .phone .deed').evaluateAll((buttons) =>
      buttons.filter((button) => button.getClientRects().length > 0 && Math.min(button.clientHeight, button.clientWidth) < 48).map((button) => button.textContent));
    expect(small).toEqual([]);
    // What stands in the title block of a sheet is at hand too.
    await page.getByRole('button', { name: 'Settings' }).tap();
    expect(await seriousFindings(page), 'settings').toEqual([]);
    await page.locator('dialog[open] select').first().selectOption({ label: 'ft in, rise in 12' });
    await page.locator('dialog[open]').getByRole('button', { name: 'Close' }).tap();
    expect(await page.textContent('.hero')).toMatch(/ft² ±/);
    expect(faults).toEqual([]);
  });
});

test('on a phone: a distance by finger, each place by a tap that shows it and one that takes it', async () => {
  const { page, faults } = await openSample({ viewport: { width: 390, height: 844 }, hasTouch: true });
  const record = await savedRecord(page);
  await page.getByRole('button', { name: 'Measure', exact: true }).tap();
  const board = (await page.locator('.board').boundingBox())!;
  for (const { x, y } of await inDrawing(page, insideTwoPlanes(record))) {
    await page.touchscreen.tap(board.x + x, board.y + y);
    await expect.poll(() => spoken(page), SOON).toMatch(/^Would take /);
    await page.waitForTimeout(400);
    await page.touchscreen.tap(board.x + x, board.y + y);
  }
  await expect.poll(() => spoken(page), SOON).toMatch(/^Distance along the slope: [\d.]+ m ± [\d.]+/);
  expect(faults).toEqual([]);
});

/** Where points of the local frame stand in the drawing as it is shown. [px from its corner] */
async function inDrawing(page: Page, points: readonly Vector3[]): Promise<{ x: number; y: number }[]> {
  // The drawing follows in its next frame.
  await page.evaluate(() => new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve))));
  const view = JSON.parse((await page.getAttribute('.board', 'data-view'))!) as Projection;
  return points.map((point) => {
    const [x, y] = project(view, point);
    return { x, y };
  });
}

const buildingOf = (record: RoofRecord, id: string): Building => record.buildings.find((building) => building.id === id)!;

const middleOf = (plane: RoofPlane): Vector3 => {
  const { at } = roomiestPlace(plane.outline, plane.holes);
  return [at[0], at[1], planeElevationAt(plane, at)];
};

/** The largest plane with four corners that nothing stands on. */
function plainPlane(record: RoofRecord): { building: Building; plane: RoofPlane } {
  const plain = record.buildings.flatMap((building) => building.roofPlanes
    .filter(({ id, outline, holes }) => outline.length === 4 && holes.length === 0 && !building.obstructions.some(({ onPlane }) => onPlane === id))
    .map((plane) => ({ building, plane })));
  const [largest] = plain.toSorted((a, b) => (b.plane.planAreaM2.value ?? 0) - (a.plane.planAreaM2.value ?? 0));
  if (!largest) throw new Error('Something stands on every plane of the sample.');
  return largest;
}

/** Two places a little inside the middles of a plane's longest side and the one across from it. */
function acrossPlane(plane: RoofPlane): [Vector3, Vector3] {
  const { outline } = plane;
  const size = (i: number): number => Math.hypot(...([0, 1, 2] as const).map((axis) => outline[(i + 1) % 4]![axis] - outline[i]![axis]));
  const longest = [0, 1, 2, 3].reduce((best, i) => (size(i) > size(best) ? i : best), 0);
  const middle = middleOf(plane);
  return [longest, (longest + 2) % 4].map((i): Vector3 => {
    const at = ([0, 1] as const).map((axis) => (outline[i]![axis] + outline[(i + 1) % 4]![axis]) / 2);
    const [x, y] = [at[0]! + 0.15 * (middle[0] - at[0]!), at[1]! + 0.15 * (middle[1] - at[1]!)];
    return [x, y, planeElevationAt(plane, [x, y])];
  }) as [Vector3, Vector3];
}

const planesOf = (record: RoofRecord): readonly RoofPlane[] => record.buildings.flatMap(({ roofPlanes }) => roofPlanes);

/** Places well inside the two largest planes that no thing stands on. */
function insideTwoPlanes(record: RoofRecord): Vector3[] {
  const taken = new Set(record.buildings.flatMap(({ obstructions }) => obstructions.map(({ onPlane }) => onPlane)));
  const free = planesOf(record).filter(({ id }) => !taken.has(id)).toSorted((a, b) => (b.planAreaM2.value ?? 0) - (a.planAreaM2.value ?? 0));
  return free.slice(0, 2).map((plane) => {
    const { at } = roomiestPlace(plane.outline, plane.holes);
    return [at[0], at[1], planeElevationAt(plane, at)];
  });
}

/** An outline corner of one plane alone, with no other corner near. */
function freeCorner(record: RoofRecord): Vector3 {
  const corners = planesOf(record).flatMap(({ outline }) => outline);
  const near = (a: Vector3, b: Vector3): boolean => Math.hypot(a[0] - b[0], a[1] - b[1]) < 1;
  const alone = corners.find((corner) => corners.filter((other) => near(corner, other)).length === 1);
  if (!alone) throw new Error('Every corner of the sample has another within a metre.');
  return alone;
}
