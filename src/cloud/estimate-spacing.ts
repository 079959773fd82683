import type { Cell, Cloud } from './cloud.ts';

/** Enough points of a cell to know its density to a few per cent. */
const SAMPLE_SIZE = 8192;
/** Points wanted in one square of the count. Fewer makes the median coarse, more averages over edges. */
const POINTS_PER_SQUARE = 16;

/**
 * Point spacing of a cloud: the side of the square that holds one point in plan, in the typical occupied part of the
 * typical cell. Empty ground between roofs does not thin it, and a few dense walls do not thicken it (medians both times).
 *
 * @returns Spacing. [m]
 * @throws RangeError on a cloud without points.
 */
export function estimateSpacing(cloud: Cloud): number {
  const densities = cloud.cells.map((cell) => ({ density: cellDensity(cell, cloud.grid.cellSize), weight: cell.pointCount }));
  densities.sort((a, b) => a.density - b.density);
  let left = cloud.pointCount / 2;
  for (const { density, weight } of densities) {
    left -= weight;
    if (left <= 0) return 1 / Math.sqrt(density);
  }
  throw new RangeError('Expected a cloud with at least one point.');
}

/** Median points per square metre over the occupied squares of a cell, from a prefix of its points. */
function cellDensity(cell: Cell, cellSize: number): number {
  const sampleCount = Math.min(cell.pointCount, SAMPLE_SIZE);
  const share = sampleCount / cell.pointCount;
  let density = sampleCount / (cellSize * cellSize);
  // The first squares are sized for an evenly filled cell; a second and third count correct that for the holes.
  for (let round = 0; round < 3; round++) density = occupiedDensity(cell.positions, sampleCount, cellSize, density);
  return density / share;
}

function occupiedDensity(positions: Float32Array, sampleCount: number, cellSize: number, guess: number): number {
  const side = Math.max(1, Math.min(512, Math.round(cellSize / Math.sqrt(POINTS_PER_SQUARE / guess))));
  const counts = new Uint32Array(side * side);
  const scale = side / cellSize;
  for (let i = 0; i < 3 * sampleCount; i += 3) {
    const x = Math.min(side - 1, Math.max(0, (positions[i]! * scale) | 0));
    const y = Math.min(side - 1, Math.max(0, (positions[i + 1]! * scale) | 0));
    counts[y * side + x]!++;
  }
  const occupied = counts.filter((count) => count > 0).sort();
  return (occupied[occupied.length >> 1]! * side * side) / (cellSize * cellSize);
}
