import { pickPoints, type PickInput, type PickedPoints } from './pick-points.ts';
import { sumTile, type TileInput, type TileSums } from './tile-sums.ts';

/**
 * The parts of measuring that touch points, one cell of the cloud at a time. Every implementation must answer in the
 * order asked and with the same bytes as `directMeasureKernels`: workers only call the same pure functions elsewhere.
 */
export interface MeasureKernels {
  sumTiles(work: readonly TileInput[]): Promise<TileSums[]>;
  pickPoints(work: readonly PickInput[]): Promise<PickedPoints[]>;
}

/** All work in this thread. */
export const directMeasureKernels: MeasureKernels = {
  sumTiles: async (work) => work.map(sumTile),
  pickPoints: async (work) => work.map(pickPoints),
};
