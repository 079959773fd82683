import type { SurfaceModel } from './surface-model.ts';

/** A single cell this much above all about it is a mast, a wire or a bird: thinner than a cell, it throws no shade worth counting. [m] */
const SPIKE = 2.5;
/** Empty cells with this many of eight neighbours seen are gaps between points, not openings. */
const CLOSED_BY = 5;
/** Rounds of closing: gaps up to twice as many cells wide. */
const ROUNDS = 2;

/** Takes single high cells out of a surface of a cloud and closes gaps between its points. */
export function tidySurface(surface: SurfaceModel): SurfaceModel {
  let elevation = withoutSpikes(surface);
  for (let round = 0; round < ROUNDS; round++) elevation = closed({ ...surface, elevation });
  return { ...surface, elevation };
}

function withoutSpikes({ columns, rows, elevation }: SurfaceModel): Float32Array {
  const kept = elevation.slice();
  for (let row = 1; row < rows - 1; row++) {
    for (let at = row * columns + 1; at < (row + 1) * columns - 1; at++) {
      const limit = elevation[at]! - SPIKE;
      // Compares false with a cell not seen, so a lone point in the open stays.
      if (elevation[at - 1]! < limit && elevation[at + 1]! < limit && elevation[at - columns]! < limit && elevation[at + columns]! < limit
        && !(elevation[at - columns - 1]! >= limit) && !(elevation[at - columns + 1]! >= limit)
        && !(elevation[at + columns - 1]! >= limit) && !(elevation[at + columns + 1]! >= limit)) {
        kept[at] = Math.max(elevation[at - 1]!, elevation[at + 1]!, elevation[at - columns]!, elevation[at + columns]!);
      }
    }
  }
  return kept;
}

function closed({ columns, rows, elevation }: SurfaceModel): Float32Array {
  const filled = elevation.slice();
  for (let row = 1; row < rows - 1; row++) {
    for (let at = row * columns + 1; at < (row + 1) * columns - 1; at++) {
      if (!Number.isNaN(elevation[at]!)) continue;
      let count = 0;
      let sum = 0;
      for (let down = -columns; down <= columns; down += columns) {
        for (let k = at + down - 1; k <= at + down + 1; k++) {
          if (Number.isNaN(elevation[k]!)) continue;
          count++;
          sum += elevation[k]!;
        }
      }
      if (count >= CLOSED_BY) filled[at] = sum / count;
    }
  }
  return filled;
}
