import { availableParallelism } from 'node:os';
import { startWorkerThread } from '../../../src/cli/node-workers.ts';
import { nodeEnvironment } from '../../../src/cli/node-environment.ts';
import { seededRandom } from '../../../src/geometry/seeded-random.ts';
import { normalize } from '../../../src/geometry/vector.ts';
import type { CellLightWork } from '../../../src/sun/cell-light.ts';
import type { Solid } from '../../../src/sun/horizon.ts';
import { emptySurface } from '../../../src/sun/surface-model.ts';
import { directRunner } from '../../../src/survey/direct-runner.ts';
import { runInOrder, type TaskRunner } from '../../../src/survey/task-runner.ts';
import { workerRunner } from '../../../src/survey/worker-runner.ts';

/** Roof cells, their year to be done in this time on two cores. [s] */
const CELLS = 20_000;
const LIMIT_SECONDS = 5;
const THREADS = 2;
const CHUNK = 2048;

/** A roof of 100 × 50 m, pitch 25 degrees, with sixty things on it, in the middle of a town of blocks and trees. */
function town(): CellLightWork {
  const random = seededRandom(1);
  const surface = emptySurface(-230, -230, 230, 230, 0.25);
  surface.elevation.fill(0);
  const raise = (x: number, y: number, width: number, depth: number, height: number): void => {
    const [c0, r0] = [Math.max(0, Math.floor((x + 230) * 4)), Math.max(0, Math.floor((y + 230) * 4))];
    for (let row = r0; row < Math.min(surface.rows, r0 + depth * 4); row++) {
      for (let at = row * surface.columns + c0; at < row * surface.columns + Math.min(surface.columns, c0 + width * 4); at++) surface.elevation[at] = Math.max(surface.elevation[at]!, height);
    }
  };
  for (let i = 0; i < 220; i++) {
    const [x, y] = [random.uniform() * 440 - 220, random.uniform() * 440 - 220];
    if (Math.abs(x) > 65 || Math.abs(y) > 40) raise(x, y, 8 + random.uniform() * 20, 8 + random.uniform() * 12, 5 + random.uniform() * 14);
  }
  for (let i = 0; i < 400; i++) {
    const [x, y] = [random.uniform() * 440 - 220, random.uniform() * 440 - 220];
    if (Math.abs(x) > 55 || Math.abs(y) > 30) raise(x, y, 4, 4, 4 + random.uniform() * 10);
  }
  const slope = Math.tan((25 * Math.PI) / 180);
  const roof = (y: number): number => 6 + (y + 25) * slope;
  for (let row = 0; row < surface.rows; row++) {
    for (let column = 0; column < surface.columns; column++) {
      const [x, y] = [-230 + (column + 0.5) / 4, -230 + (row + 0.5) / 4];
      if (Math.abs(x) < 50 && Math.abs(y) < 25) surface.elevation[row * surface.columns + column] = roof(y);
    }
  }
  const solids = Array.from({ length: 60 }, (_, i): Solid => {
    const [x, y] = [random.uniform() * 96 - 48, random.uniform() * 46 - 23];
    return { id: `o${i}`, footprint: [[x, y], [x + 1, y], [x + 1, y + 1], [x, y + 1]], top: roof(y) + 0.5 + random.uniform() * 1.5 };
  });
  const positions = new Float64Array(CELLS * 3);
  for (let i = 0; i < CELLS; i++) positions.set([(i % 200) * 0.5 - 49.75, Math.floor(i / 200) * 0.5 - 24.75, roof(Math.floor(i / 200) * 0.5 - 24.75)], i * 3);
  return {
    solids, surface, albedo: 0.2, cells: { positions, orientation: new Uint16Array(CELLS), orientations: [normalize([0, -slope, 1])] },
    year: { latitudeDeg: 48, longitudeDeg: 8, gridToTrueDeg: 0, linkeTurbidity: Array.from({ length: 12 }, () => 3), monthlyKwhM2: null, elevationM: 0 },
  };
}

/** Times a year of light on 20 000 roof cells in two threads. The first run warms the threads up and is not counted. */
export async function shadeSpeedLines(): Promise<{ lines: string[]; within: boolean }> {
  const work = town();
  const hasThreads = import.meta.url.endsWith('.js');
  const runner = hasThreads ? workerRunner(startWorkerThread, THREADS) : directRunner(nodeEnvironment());
  try {
    await yearOn(runner, work);
    const processor = process.cpuUsage();
    const start = performance.now();
    await yearOn(runner, work);
    const seconds = (performance.now() - start) / 1000;
    const { user, system } = process.cpuUsage(processor);
    const busy = (user + system) / 1e6;
    // On a machine that does other things the processor time, shared by the threads, is what the code costs.
    const alone = Math.min(seconds, busy / Math.min(runner.width, availableParallelism()));
    return {
      lines: [`shade: ${CELLS} roof cells for a year in ${runner.width} thread${runner.width === 1 ? '' : 's'}: ${seconds.toFixed(1)} s elapsed, ${busy.toFixed(1)} s of processor`],
      within: alone < LIMIT_SECONDS,
    };
  } finally {
    runner.close();
  }
}

async function yearOn(runner: TaskRunner, work: CellLightWork): Promise<void> {
  const { positions, orientation, orientations } = work.cells;
  await runInOrder(runner, 'light-on-cells', Math.ceil(CELLS / CHUNK), (index) => ({
    input: { ...work, cells: { orientations, positions: positions.slice(index * CHUNK * 3, (index + 1) * CHUNK * 3), orientation: orientation.slice(index * CHUNK, (index + 1) * CHUNK) } },
  }), () => undefined);
}
