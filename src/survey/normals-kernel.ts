import { inSharedMemory } from '../cloud/point-memory.ts';
import { poolNormals, roomForNormals, type PooledNormals, type PooledPart } from '../find/voxels/pooled-normals.ts';
import { listNeighbours, type VoxelTable } from '../find/voxels/voxel-table.ts';
import { runInOrder, type TaskRunner } from './task-runner.ts';

/** Voxels in one message: some milliseconds of work, and enough messages to share it evenly. */
const VOXELS_PER_MESSAGE = 50_000;
/** Fewer are pooled before a thread has compiled the code for it. */
const VOXELS_WORTH_THREADS = 200_000;

/** Pools the surroundings of voxels in the runner's threads, where they share memory; the same bytes as in this one. */
export async function normalsInThreads(runner: TaskRunner, table: VoxelTable, skip: Uint8Array, signal: AbortSignal | undefined, worthThreads = VOXELS_WORTH_THREADS, perMessage = VOXELS_PER_MESSAGE): Promise<PooledNormals> {
  if (!runner.sharesMemory || runner.width < 2 || table.count < worthThreads) return poolNormals(table, skip);
  const seen = sharedTable(table);
  const shared = { table: seen, skip: inSharedMemory(skip), pooled: roomForNormals(seen) };
  const parts = new Array<PooledPart>(Math.ceil(table.count / perMessage));
  await runInOrder(
    runner,
    'pool-normals',
    parts.length,
    (index) => ({ input: { ...shared, from: index * perMessage, to: Math.min(table.count, (index + 1) * perMessage) } }),
    (part, index) => (parts[index] = part),
    { signal },
  );
  listNeighbours(table, parts);
  return shared.pooled;
}

/** The same with every array in shared memory, where those of a large cloud stand already. */
export const sharedTable = (table: VoxelTable): VoxelTable => ({
  ...table,
  sums: inSharedMemory(table.sums),
  means: inSharedMemory(table.means),
  x: inSharedMemory(table.x),
  y: inSharedMemory(table.y),
  level: inSharedMemory(table.level),
  entry: inSharedMemory(table.entry),
  entryFirst: inSharedMemory(table.entryFirst),
  entryCount: inSharedMemory(table.entryCount),
  listed: table.listed && { first: inSharedMemory(table.listed.first), list: inSharedMemory(table.listed.list) },
});
