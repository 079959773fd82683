import type { CellVoxels, SumVoxelsWork } from './voxels/sum-voxels.ts';
import { sumVoxels } from './voxels/sum-voxels.ts';
import { labelCell, type LabelCellWork, type LabelledCell } from './voxels/label-cell.ts';
import { poolNormals, type PooledNormals } from './voxels/pooled-normals.ts';
import type { VoxelTable } from './voxels/voxel-table.ts';
import { splitClusters, type SplitSurface, type SurfaceGroup, type SurfaceSearch } from './facets/split-surface.ts';

/**
 * The parts of the search that may run in other threads: those that touch points, one cell at a time, the surroundings of
 * voxels, and the search of surfaces for facets. Every implementation must answer in the order asked and
 * with the same bytes as `directKernels`: workers only call the same pure functions elsewhere.
 */
export interface RoofKernels {
  sumVoxels(work: readonly SumVoxelsWork[]): Promise<CellVoxels[]>;
  /** @param skip  1 for voxels to leave out as centres. Leaves the neighbours of the others in the table. */
  poolNormals(table: VoxelTable, skip: Uint8Array): Promise<PooledNormals>;
  labelCells(work: readonly LabelCellWork[]): Promise<LabelledCell[]>;
  splitClusters(search: SurfaceSearch, clusters: readonly (readonly SurfaceGroup[])[]): Promise<(SplitSurface | null)[][]>;
}

/** All work in this thread. */
export const directKernels: RoofKernels = {
  sumVoxels: async (work) => work.map(sumVoxels),
  poolNormals: async (table, skip) => poolNormals(table, skip),
  labelCells: async (work) => work.map(labelCell),
  splitClusters: async (search, clusters) => splitClusters(search, clusters),
};
