import { inSharedMemory } from '../cloud/point-memory.ts';
import { sharedTable } from './normals-kernel.ts';
import { splitClusters, type SplitSurface, type SurfaceGroup, type SurfaceSearch } from '../find/facets/split-surface.ts';
import { runInOrder, type TaskRunner } from './task-runner.ts';

/** Voxels of surfaces in one message at least: each message makes its thread look through an array of all voxels. */
const VOXELS_PER_MESSAGE = 20_000;
/** Voxels of all surfaces from which on threads are worth it: each has to compile the search anew, for half a second or so. */
const VOXELS_WORTH_THREADS = 100_000;

/**
 * Searches clusters of surfaces in the runner's threads, the largest first so that none is left alone with one at the end.
 * All look at the same voxels, so where threads share no memory copying those to each would cost more than it saves.
 */
export async function clustersInThreads(runner: TaskRunner, search: SurfaceSearch, clusters: readonly (readonly SurfaceGroup[])[], signal: AbortSignal | undefined, worthThreads = VOXELS_WORTH_THREADS): Promise<(SplitSurface | null)[][]> {
  const total = clusters.reduce((sum, cluster) => sum + voxelCount(cluster), 0);
  if (!runner.sharesMemory || runner.width < 2 || total < worthThreads) return splitClusters(search, clusters);
  const messages = clustersByMessage(clusters);
  const shared = shareSearch(search);
  const answers = new Array<(SplitSurface | null)[]>(clusters.length);
  await runInOrder(
    runner,
    'split-clusters',
    messages.length,
    (index) => ({ input: { search: shared, clusters: messages[index]!.map((c) => clusters[c]!) } }),
    (answer, index) => messages[index]!.forEach((c, i) => (answers[c] = [...answer[i]!])),
    { signal },
  );
  return answers;
}

const voxelCount = (groups: readonly SurfaceGroup[]): number => groups.flat().reduce((sum, { voxels }) => sum + voxels.length, 0);

/** Places of clusters in their list, one list a message. */
function clustersByMessage(clusters: readonly (readonly SurfaceGroup[])[]): number[][] {
  const sizes = clusters.map(voxelCount);
  const order = [...clusters.keys()].sort((a, b) => sizes[b]! - sizes[a]! || a - b);
  const messages: number[][] = [];
  let room = 0;
  for (const c of order) {
    if (room <= 0) {
      messages.push([]);
      room = VOXELS_PER_MESSAGE;
    }
    messages.at(-1)!.push(c);
    room -= sizes[c]!;
  }
  return messages;
}

/** The same with every array in shared memory; those of the table mostly stand there already. */
const shareSearch = ({ table, pooled, regionOf, rules }: SurfaceSearch): SurfaceSearch => ({
  table: sharedTable(table),
  pooled: { normals: inSharedMemory(pooled.normals), thickness: inSharedMemory(pooled.thickness) },
  regionOf: inSharedMemory(regionOf),
  rules,
});
