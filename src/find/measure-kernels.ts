import { answerBuilding, type BuildingAnswer, type BuildingWork } from './measure-alone.ts';
import { sumTile, type TileAnswer, type TileInput } from './measure/raster/tile-sums.ts';

/**
 * The parts of measuring that are heavy: one pass over all points, a cell of the cloud at a time, then one building at a
 * time. Every implementation must give the same bytes as `directMeasureKernels`: workers only call the same pure functions
 * elsewhere.
 */
export interface MeasureKernels {
  /** Answers in the order asked. */
  sumTiles(work: readonly TileInput[]): Promise<TileAnswer[]>;
  /**
   * Measures buildings in any order. `workOf` is called when a building's turn comes, from the first on; its raster and its
   * tiles belong to the kernel from then on. It gives null where there is nothing to measure; what it throws ends the work.
   */
  measureBuildings(
    count: number,
    workOf: (turn: number) => BuildingWork | null,
    onAnswer: (answer: BuildingAnswer | null, turn: number) => void,
  ): Promise<void>;
}

/** All work in this thread. */
export const directMeasureKernels: MeasureKernels = {
  sumTiles: async (work) => work.map(sumTile),
  async measureBuildings(count, workOf, onAnswer) {
    for (let turn = 0; turn < count; turn++) {
      const work = workOf(turn);
      onAnswer(work && answerBuilding(work), turn);
    }
  },
};
