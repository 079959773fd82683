import { execFileSync, spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';
import { buildCloud } from '../../src/cloud/build-cloud.ts';
import { planGrid } from '../../src/cloud/plan-grid.ts';
import { findRoof } from '../../src/find/find-roof.ts';
import type { Plane } from '../../src/geometry/plane.ts';
import { roofKernelsOn } from '../../src/survey/runner-kernels.ts';
import { letGo } from '../../src/survey/let-go.ts';
import type { AnswerMessage } from '../../src/survey/task-messages.ts';
import { workerRunner, type WorkerPort } from '../../src/survey/worker-runner.ts';
import { writeLas, WKT_25832 } from '../../sample-data/writers/write-las.ts';
import { benchScene, everyNth, scorePlanes } from './bench-scene.ts';

/**
 * Speed and peak memory of each stage, next to one pass over the coordinates and to a C++ plane extraction.
 *
 *   node dist/node/bench.js [MILLIONS …]     default 1 5 20
 *   node dist/node/bench.js --page [MILLIONS]     the page in a browser, default 20
 *
 * Each size runs in a process of its own, so that one's memory is not the next one's peak.
 */
const here = dirname(fileURLToPath(import.meta.url));
const NOISE = 0.02;

async function main(args: readonly string[]): Promise<void> {
  if (args[0] === '--run') return runSize(Number(args[1]));
  if (args[0] === '--rival') return runRival();
  if (args[0] === '--page') return (await import('./page-bench.ts')).benchPage(args.slice(1));
  const sizes = args.length > 0 ? args.map(Number) : [1, 5, 20];
  if (sizes.some((size) => !(size > 0))) throw new Error(`bench: expected millions of points, got ${args.join(' ')}`);
  console.log(`${cpus()[0]?.model ?? 'unknown processor'}, ${cpus().length} threads, Node ${process.version}`);
  console.log('Scene: the harbour town, correlated noise of 2 cm, 1 % stray points. Best of the runs; memory above the stage before.');
  for (const size of sizes) spawnSync(process.execPath, ['--expose-gc', '--max-old-space-size=8192', fileURLToPath(import.meta.url), '--run', String(size)], { stdio: 'inherit' });
  spawnSync(process.execPath, ['--expose-gc', fileURLToPath(import.meta.url), '--rival'], { stdio: 'inherit' });
}

async function runSize(millions: number): Promise<void> {
  const { points, bounds, planes, spacing } = benchScene(millions * 1e6);
  const n = points.pointCount;
  console.log(`\n${(n / 1e6).toFixed(2)} million points, spacing ${(100 * spacing).toFixed(1)} cm, ${planes.length} planes of 2 m² and more`);
  console.log('| stage | s | million points/s | peak bytes a point |\n| - | - | - | - |');
  await stage('one pass over the coordinates (baseline)', n, 3, async () => void onePass(points.positions));
  const grid = planGrid(bounds, n);
  const cloud = await stage('cells: bin and order, this thread', n, 1, async () => buildCloud([points], grid, true));
  const found = await stage('planes, this thread', n, 3, async () => findRoof(cloud));
  const runner = workerRunner(startWorker, 2, true);
  const emptied = () => letGo(runner, { collect: () => globalThis.gc?.() });
  await stage('planes, 2 worker threads', n, 3, async () => findRoof(cloud, {}, roofKernelsOn(runner, undefined)), emptied);
  runner.close();
  await surveyStage(points.positions, points.colours!, n);
  console.log(`\nplanes: ${scorePlanes(planes, found.segments)}`);
}

/** The cheapest thing one can do with every point. */
function onePass(positions: Float64Array): number {
  let sum = 0;
  for (const value of positions) sum += value;
  if (!Number.isFinite(sum)) throw new Error('The scene has a coordinate that is not finite.');
  return sum;
}

/** @param empty  Frees what the run before has left behind, in this thread and others. */
async function stage<Answer>(name: string, n: number, runs: number, work: () => Promise<Answer>, empty: () => Promise<void> = async () => globalThis.gc?.()): Promise<Answer> {
  let answer: Answer | null = null;
  let best = Infinity;
  let peak = 0;
  for (let run = 0; run < runs; run++) {
    answer = null;
    await empty();
    const before = process.memoryUsage.rss();
    resetPeak();
    const start = performance.now();
    answer = await work();
    best = Math.min(best, (performance.now() - start) / 1000);
    peak = Math.max(peak, (peakOf(process.pid) ?? before) - before);
  }
  row(name, best, n, peak);
  return answer!;
}

const row = (name: string, seconds: number, n: number, peak: number): void =>
  console.log(`| ${name} | ${seconds.toFixed(3)} | ${(n / seconds / 1e6).toFixed(2)} | ${(peak / n).toFixed(1)} |`);

/** The built command on a LAS file, as a user runs it. */
async function surveyStage(positions: Float64Array, colours: Uint8Array, n: number): Promise<void> {
  const command = join(here, 'roofdatum.js');
  if (!existsSync(command)) return console.log('| whole survey of a LAS file | skipped: no roofdatum.js beside this file | | |');
  const folder = mkdtempSync(join(tmpdir(), 'bench-'));
  try {
    const file = join(folder, 'scene.las');
    const bytes = writeLas(positions, colours, 2, WKT_25832);
    writeFileSync(file, bytes);
    const start = performance.now();
    const child = spawn(process.execPath, [command, 'survey', file, '--out', folder], { stdio: ['ignore', 'ignore', 'ignore'] });
    let peak = 0;
    const watch = setInterval(() => (peak = Math.max(peak, peakOf(child.pid!) ?? 0)), 50);
    const status = await new Promise<number | null>((resolve) => child.on('close', resolve));
    clearInterval(watch);
    if (status !== 0) return console.log(`| whole survey of a LAS file | failed with exit status ${status} | | |`);
    row('whole survey of a LAS file, by command (memory with the engine, without the file)', (performance.now() - start) / 1000, n, peak);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Highest resident memory of a process [bytes]; null where the system does not tell. */
function peakOf(pid: number): number | null {
  try {
    const line = /VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'));
    return line ? 1024 * Number(line[1]) : null;
  } catch {
    return null;
  }
}

function resetPeak(): void {
  try {
    writeFileSync('/proc/self/clear_refs', '5');
  } catch {
    // Only Linux can; elsewhere the peak of the process stands.
  }
}

function startWorker(): WorkerPort {
  const worker = new Worker(new URL('./survey-worker.js', import.meta.url));
  return {
    post: (message, transfer) => worker.postMessage(message, [...transfer]),
    onMessage(take) {
      worker.removeAllListeners('message');
      worker.on('message', (answer: AnswerMessage) => take(answer));
    },
    onDeath(take) {
      worker.removeAllListeners('error');
      worker.on('error', (error) => take(error.message));
    },
    end: () => void worker.terminate(),
  };
}

/** The library's two methods and ours on the same thinned points. */
async function runRival(): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'bench-'));
  try {
    const script = rivalScript();
    const built = script === null ? null : spawnSync('sh', [script, folder], { encoding: 'utf8' });
    if (!built || built.status !== 0) {
      return console.log(`\nC++ plane extraction: skipped, ${built ? built.stderr.trim().split('\n').at(-1) : 'tests/bench/build-rival.sh is not there'}.`);
    }
    const scene = benchScene(5e6);
    const points = everyNth(scene.points, 8);
    const spacing = scene.spacing * Math.sqrt(8);
    console.log(`\nThe same ${(points.pointCount / 1e6).toFixed(2)} million points (every 8th of the 5 million), one thread each`);
    console.log('| method | s | million points/s | planes |\n| - | - | - | - |');
    const cloud = buildCloud([points], planGrid(scene.bounds, points.pointCount));
    let seconds = Infinity;
    let ours: readonly Plane[] = [];
    for (let run = 0; run < 3; run++) {
      const start = performance.now();
      ours = (await findRoof(cloud)).segments;
      seconds = Math.min(seconds, (performance.now() - start) / 1000);
    }
    const line = (name: string, time: number, planes: readonly Plane[]): void =>
      console.log(`| ${name} | ${time.toFixed(2)} | ${(points.pointCount / time / 1e6).toFixed(2)} | ${scorePlanes(scene.planes, planes)} |`);
    line('this project', seconds, ours);
    const file = join(folder, 'points.bin');
    writeFileSync(file, new Uint8Array(points.positions.buffer, 0, points.positions.byteLength));
    for (const [name, method] of [['CGAL region growing (normals included)', 'growing'], ['CGAL Efficient RANSAC (normals included)', 'ransac']] as const) {
      const output = execFileSync(join(folder, 'rival-planes'), [file, method, String(NOISE), String(spacing)], { encoding: 'utf8', maxBuffer: 1e8 });
      const time = Number(/seconds (\S+)/.exec(output)![1]);
      const planes = [...output.matchAll(/^plane (\S+) (\S+) (\S+) (\S+) (\d+)$/gm)]
        .map((match) => ({ normal: [Number(match[1]), Number(match[2]), Number(match[3])] as const, offset: Number(match[4]) }));
      line(name, time, planes);
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** From the bundle in dist/node as from the source. */
const rivalScript = (): string | null =>
  [join(here, '../../tests/bench/build-rival.sh'), join(here, 'build-rival.sh')].find((path) => existsSync(path)) ?? null;

await main(process.argv.slice(2));
