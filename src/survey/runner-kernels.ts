import { isShared } from '../cloud/point-memory.ts';
import type { MeasureKernels } from '../find/measure-roof.ts';
import type { TileInput } from '../find/measure/raster/tile-sums.ts';
import type { RoofKernels } from '../find/roof-kernels.ts';
import { normalsInThreads } from './normals-kernel.ts';
import { clustersInThreads } from './surface-kernel.ts';
import { runInOrder, type TaskRunner } from './task-runner.ts';
import type { TaskName, Tasks } from './tasks.ts';
import { buffersOf } from './transferables.ts';

/** Cells that go to a worker in one message: enough to hide the message's cost, few enough to share the work evenly. */
const WORK_PER_MESSAGE = 4;

/**
 * Runs a kernel over many pieces of work in the runner's threads, a few a message, and keeps the order. What goes out is
 * copied, a few cells at a time, so that the cloud stays whole for drawing.
 */
async function inGroups<Work, Answer>(
  runner: TaskRunner,
  name: TaskName,
  work: readonly Work[],
  signal: AbortSignal | undefined,
): Promise<Answer[]> {
  const groups = Math.ceil(work.length / WORK_PER_MESSAGE);
  const answers = new Array<readonly Answer[]>(groups);
  await runInOrder(
    runner,
    name,
    groups,
    (index) => ({ input: { work: work.slice(index * WORK_PER_MESSAGE, (index + 1) * WORK_PER_MESSAGE) } as unknown as Tasks[typeof name]['input'] }),
    (answer, index) => (answers[index] = answer as unknown as readonly Answer[]),
    { signal },
  );
  return answers.flat();
}

/** The kernels of the search, in the runner's threads; same bytes as `directKernels`. */
export function roofKernelsOn(runner: TaskRunner, signal: AbortSignal | undefined): RoofKernels {
  return {
    sumVoxels: (work) => inGroups(runner, 'sum-voxels', work.map(positionsOnly), signal),
    poolNormals: (table, skip) => normalsInThreads(runner, table, skip, signal),
    labelCells: (work) => inGroups(runner, 'label-cells', work.map(positionsOnly), signal),
    splitClusters: (search, clusters) => clustersInThreads(runner, search, clusters, signal),
  };
}

/** The kernels of measuring, in the runner's threads; same bytes as `directMeasureKernels`. */
export function measureKernelsOn(runner: TaskRunner, signal: AbortSignal | undefined): MeasureKernels {
  return {
    sumTiles: (work) => inGroups(runner, 'sum-tiles', work.map(reorderedWhereSeen), signal),
    measureBuildings: (count, workOf, onAnswer) =>
      runInOrder(
        runner,
        'measure-building',
        count,
        (turn) => {
          const work = workOf(turn);
          return { input: { work }, transfer: work ? buffersOf([work.raster, work.tiles]) : [] };
        },
        ({ answer }, turn) => onAnswer(answer, turn),
        { signal },
      ),
  };
}

/** A thread that was given a copy cannot put the points themselves in order. */
const reorderedWhereSeen = (work: TileInput): TileInput => ({ ...work, mayReorder: work.mayReorder === true && isShared(work.positions) && isShared(work.labels) });

/** No kernel looks at colours or classes; not sending them saves a third of the copying. */
function positionsOnly<Work extends { readonly cell: { readonly positions: Float32Array } }>(work: Work): Work {
  return { ...work, cell: { ...work.cell, colours: null, intensity: null, classification: null } };
}
