import type { CellVoxels, SumVoxelsWork } from './sum-voxels.ts';
import { sumVoxels } from './sum-voxels.ts';
import { labelCell, type LabelCellWork, type LabelledCell } from './label-cell.ts';

/**
 * The parts of the search that touch points, one cell at a time. Every implementation must answer in the order asked and
 * with the same bytes as `directKernels`: workers only call the same pure functions elsewhere.
 */
export interface RoofKernels {
  sumVoxels(work: readonly SumVoxelsWork[]): Promise<CellVoxels[]>;
  labelCells(work: readonly LabelCellWork[]): Promise<LabelledCell[]>;
}

/** All work in this thread. */
export const directKernels: RoofKernels = {
  sumVoxels: async (work) => work.map(sumVoxels),
  labelCells: async (work) => work.map(labelCell),
};
