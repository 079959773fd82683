import { sumTile, type TileAnswer, type TileInput } from './tile-sums.ts';

/**
 * The part of measuring that passes over all points, one cell of the cloud at a time. Every implementation must answer in
 * the order asked and with the same bytes as `directMeasureKernels`: workers only call the same pure function elsewhere.
 */
export interface MeasureKernels {
  sumTiles(work: readonly TileInput[]): Promise<TileAnswer[]>;
}

/** All work in this thread. */
export const directMeasureKernels: MeasureKernels = {
  sumTiles: async (work) => work.map(sumTile),
};
