import { existsSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import type { CDPSession, Page } from 'playwright-core';
import { writeLas, WKT_25832 } from '../../sample-data/writers/write-las.ts';
import { servePage } from '../browser/served-page.ts';
import { benchScene } from './bench-scene.ts';

/**
 * How the page behaves with a large cloud: `npm run bench -- --page [MILLIONS or FILE] [--profile FILE]`, default 20.
 *
 * Opens a file, or the harbour town as a LAS file, which is kept in the system's folder for temporary files and used again, in a
 * Chromium without a graphics card: every frame is drawn by the processor, in threads the page shares with the survey.
 */
export async function benchPage(args: readonly string[]): Promise<void> {
  const [what = '20'] = args.filter((arg, i) => arg !== '--profile' && args[i - 1] !== '--profile');
  const profile = args.includes('--profile') ? args[args.indexOf('--profile') + 1] : undefined;
  const file = /^[\d.]+$/.test(what) ? townFile(Number(what)) : what;
  console.log(`${cpus()[0]?.model ?? 'unknown processor'}, ${cpus().length} threads; ${basename(file)}, ${(statSync(file).size / 1e6).toFixed(0)} MB; drawn without a graphics card`);
  const served = await servePage();
  try {
    const { page, faults } = await served.visit();
    await page.addInitScript(watch, basename(file).replace(/\.[^.]+$/, ''));
    await page.goto(served.address);
    await page.waitForSelector('.hero .digits', { timeout: 120_000 });
    await page.waitForSelector('.spoken:not(.busy)');
    await page.waitForTimeout(2000);
    const session = await page.context().newCDPSession(page);
    if (profile) await startProfile(session);
    await page.context().browser()!.startTracing(page, TRACED);
    await opening(page, file);
    await walk(page);
    await page.context().browser()!.stopTracing();
    await memory(served.processes);
    if (profile) await endProfile(session, profile);
    if (faults.length > 0) console.log(`faults: ${faults.join('; ')}`);
  } finally {
    await served.close();
  }
}

/** The town as a LAS file, made once. */
function townFile(millions: number): string {
  const file = join(tmpdir(), `roofdatum-bench-${millions}.las`);
  if (!existsSync(file)) {
    const { points } = benchScene(millions * 1e6);
    writeFileSync(file, writeLas(points.positions, points.colours!, 2, WKT_25832));
  }
  return file;
}

/** What the page keeps for the bench, put there before its own code runs. */
interface Watch {
  /** When the files were chosen. [ms] */
  chosen: number;
  /** When points of the chosen files first stood in a finished frame. [ms] */
  firstPicture: number;
  longTasks: { start: number; duration: number }[];
}

declare global {
  interface Window { watch: Watch }
}

/** Runs in the page. */
function watch(name: string): void {
  const kept: Watch = { chosen: 0, firstPicture: 0, longTasks: [] };
  window.watch = kept;
  new PerformanceObserver((list) => {
    for (const { startTime, duration } of list.getEntries()) kept.longTasks.push({ start: startTime, duration });
  }).observe({ type: 'longtask', buffered: true });
  document.addEventListener('change', (event) => {
    if ((event.target as HTMLInputElement).type !== 'file') return;
    kept.chosen = performance.now();
    // The board's attributes change at the end of a frame; the next one starts when it has been handed to the screen.
    new MutationObserver((_, observer) => {
      const board = document.querySelector<HTMLElement>('.board');
      const isNew = document.querySelector('.drawing-title p')?.textContent?.includes(name) ?? false;
      if (!isNew || !(Number(board?.dataset['points']) > 0)) return;
      observer.disconnect();
      requestAnimationFrame(() => void (kept.firstPicture = performance.now()));
    }).observe(document.querySelector('.board')!, { attributes: true, attributeFilter: ['data-frames'] });
  }, true);
}

/** Opens the file, waits for its record, and prints what that cost the page. */
async function opening(page: Page, file: string): Promise<void> {
  await page.evaluate(() => void (window.watch.longTasks = []));
  await page.locator('input[data-file-chooser]').first().setInputFiles(file);
  await page.waitForFunction(() => window.watch.chosen > 0);
  const stages = new Map<string, number>();
  for (;;) {
    const now = await page.evaluate(() => ({ stage: document.querySelector('.spoken.busy b')?.textContent ?? null, time: performance.now() - window.watch.chosen }));
    if (now.stage === null && now.time > 3000) break;
    if (now.stage !== null && !stages.has(now.stage)) stages.set(now.stage, now.time);
    await page.waitForTimeout(100);
  }
  const { chosen, firstPicture, end } = await page.evaluate(() => ({ ...window.watch, end: performance.now() }));
  console.log(`first picture after the files were chosen: ${firstPicture > 0 ? seconds(firstPicture - chosen) : 'none'} (aim: below 2 s)`);
  console.log(`record shown after: ${seconds(end - chosen)}; stages seen at: ${[...stages].map(([stage, time]) => `${stage} ${seconds(time)}`).join(', ')}`);
  console.log(await page.textContent('.spoken'));
  await settle(page);
  await longTasks(page, 'opening, until at rest', chosen);
}

/** Walks through the views as a person would, and prints long tasks, frames and answers to the pointer. */
async function walk(page: Page): Promise<void> {
  const box = (await page.locator('.board').boundingBox())!;
  const [cx, cy] = [box.x + box.width / 2, box.y + box.height / 2];
  for (const [key, name] of [['f', 'free view'], ['e', 'elevation'], ['s', 'section'], ['p', 'plan']] as const) {
    await page.evaluate(() => void (window.watch.longTasks = []));
    await page.keyboard.press(key);
    await settle(page);
    await longTasks(page, `change to ${name}`);
    await frames(page, name, cx, cy);
    await longTasks(page, `moving in ${name}`);
    await page.keyboard.press('0');
    await settle(page);
    await page.keyboard.press('m');
    await settle(page);
    await picks(page, name);
    await page.keyboard.press('Escape');
    await settle(page);
    await longTasks(page, `measuring in ${name}`);
  }
  await page.keyboard.press('f');
  const choice = page.locator('.title-block select').nth(1);
  const offered = await choice.locator('option:enabled').evaluateAll((options) => options.map((option) => (option as HTMLOptionElement).value));
  for (const mode of offered.filter((value) => value !== 'none' && value !== 'ink')) {
    await choice.selectOption(mode);
    await settle(page);
  }
  await longTasks(page, 'points by each colour the file has');
  await frames(page, 'free view, points coloured', cx, cy);
  await longTasks(page, 'moving in it');
  for (const key of ['1', '3', '4', '5', '6', '7', '2', 'n', 'n']) {
    await page.keyboard.press(key);
    await settle(page);
  }
  await longTasks(page, 'all questions, two buildings');
  await page.keyboard.press('p');
  await page.locator('.board').focus();
  for (const key of ['m', '.', 'Enter', '.', 'Enter', 'Escape', 'Control+z', 'Control+y']) {
    await page.keyboard.press(key);
    await settle(page);
  }
  await longTasks(page, 'a distance measured, taken back, done again');
  await page.locator('summary', { hasText: 'edges, with slope' }).click();
  await page.locator('details table .row-name').first().click();
  const kind = page.locator('select[aria-label^="kind of"]');
  await kind.selectOption((await kind.inputValue()) === 'rake' ? 'eave' : 'rake');
  await settle(page);
  await page.keyboard.press('Control+z');
  await settle(page);
  await longTasks(page, 'kind of an edge corrected, taken back');
}

/** Frames of a drag across the picture for two seconds. */
async function frames(page: Page, name: string, cx: number, cy: number): Promise<void> {
  const count = (): Promise<number> => page.evaluate(() => Number(document.querySelector<HTMLElement>('.board')!.dataset['frames']));
  await page.mouse.move(cx, cy);
  await page.mouse.down();
  const [start, before] = [performance.now(), await count()];
  for (let i = 0; performance.now() - start < 2000; i++) await page.mouse.move(cx + 120 * Math.sin(i / 15), cy + 60 * Math.sin(i / 22));
  const rate = ((await count()) - before) / ((performance.now() - start) / 1000);
  const moving = await page.evaluate(() => document.querySelector<HTMLElement>('.board')!.dataset['points']);
  await page.mouse.up();
  await settle(page);
  const atRest = await page.evaluate(() => document.querySelector<HTMLElement>('.board')!.dataset['points']);
  console.log(`${name}: ${rate.toFixed(1)} frames a second with ${moving} points moving, ${atRest} at rest`);
}

/** How long the page needs to say what the pointer would take, at 40 places. */
async function picks(page: Page, name: string): Promise<void> {
  const times = await page.evaluate(async () => {
    const board = document.querySelector<HTMLElement>('.board')!;
    const box = board.getBoundingClientRect();
    const taken: number[] = [];
    for (let i = 0; i < 40; i++) {
      const [x, y] = [box.left + box.width * (0.2 + 0.6 * ((i * 0.618) % 1)), box.top + box.height * (0.25 + 0.5 * ((i * 0.382) % 1))];
      const start = performance.now();
      board.dispatchEvent(new PointerEvent('pointermove', { clientX: x, clientY: y, pointerId: 1, pointerType: 'mouse', bubbles: true }));
      taken.push(performance.now() - start);
      await new Promise((resolve) => setTimeout(resolve, 40));
    }
    return taken.sort((a, b) => a - b);
  });
  console.log(`${name}: answer to the pointer median ${times[20]!.toFixed(1)} ms, slowest of 40 ${times.at(-1)!.toFixed(1)} ms (aim: below 30 ms)`);
}

/** Waits until nothing is drawn any more. */
async function settle(page: Page): Promise<void> {
  let last = '';
  for (let calm = 0; calm < 3; ) {
    await page.waitForTimeout(250);
    const frames = await page.evaluate(() => document.querySelector<HTMLElement>('.board')!.dataset['frames'] ?? '');
    calm = frames === last ? calm + 1 : 0;
    last = frames;
  }
}

/**
 * Prints what held up the page's own thread since the last time: tasks above 50 ms by the clock, which on a busy machine
 * counts the time other programs took, and the processor time of the longest, which does not.
 */
async function longTasks(page: Page, what: string, from?: number): Promise<void> {
  const tasks = await page.evaluate(() => {
    const { longTasks: found } = window.watch;
    window.watch.longTasks = [];
    return found;
  });
  const busy = (await processorTimes(page)).sort((a, b) => b - a);
  const words = tasks.map(({ start, duration }) => `${duration.toFixed(0)}${from === undefined ? '' : ` at ${seconds(start - from)}`}`);
  console.log(`${what}: longest task ${busy[0]?.toFixed(0) ?? 0} ms of processor, ${busy.filter((time) => time > 50).length} above 50 ms; by the clock above 50 ms: ${words.length === 0 ? 'none' : words.join(', ')}`);
}

interface TraceEvent {
  readonly name: string;
  readonly ph: string;
  readonly pid: number;
  readonly tid: number;
  /** Processor time of the event. [µs] */
  readonly tdur?: number;
  readonly args?: { readonly name?: string };
}

const TRACED = { categories: ['toplevel'] };

/** Processor time of every task of the page's own thread since the last call. [ms] */
async function processorTimes(page: Page): Promise<number[]> {
  const browser = page.context().browser()!;
  const trace = JSON.parse((await browser.stopTracing()).toString()) as { traceEvents: TraceEvent[] };
  await browser.startTracing(page, TRACED);
  const threads = trace.traceEvents.filter(({ name, args }) => name === 'thread_name' && args?.name === 'CrRendererMain');
  return trace.traceEvents
    .filter(({ name, tdur, pid, tid }) => name.endsWith('RunTask') && tdur !== undefined && threads.some((thread) => thread.pid === pid && thread.tid === tid))
    .map(({ tdur }) => tdur! / 1000);
}

/** Resident memory of the page's own process now and at its peak. */
async function memory(processes: () => Promise<readonly { readonly type: string; readonly id: number }[]>): Promise<void> {
  for (const { type, id } of await processes()) {
    if (type !== 'renderer' && type !== 'GPU') continue;
    const status = readFileSync(`/proc/${id}/status`, 'utf8');
    const megabytes = (name: string): string => (Number(new RegExp(`${name}:\\s+(\\d+)`).exec(status)?.[1] ?? NaN) / 1024).toFixed(0);
    if (Number(megabytes('VmHWM')) > 150) console.log(`memory of the ${type} process: ${megabytes('VmRSS')} MB now, ${megabytes('VmHWM')} MB at most`);
  }
}

async function startProfile(session: CDPSession): Promise<void> {
  await session.send('Profiler.enable');
  await session.send('Profiler.setSamplingInterval', { interval: 500 });
  await session.send('Profiler.start');
}

async function endProfile(session: CDPSession, file: string): Promise<void> {
  const { profile } = await session.send('Profiler.stop');
  writeFileSync(file, JSON.stringify(profile));
}

const seconds = (milliseconds: number): string => `${(milliseconds / 1000).toFixed(2)} s`;
