import type { Vector3 } from '../geometry/vector.ts';
import { binIntoCells, type CellFragment, type LocalPoints } from './bin-into-cells.ts';
import type { Cell, CellGrid, Cloud } from './cloud.ts';
import { finishCell } from './finish-cell.ts';

/**
 * Points to cloud in one thread: bins every batch, then finishes every cell.
 *
 * @param batches  Local frame; each is let go once it is binned, so hand over an iterator when memory matters.
 * @param shared  Puts the positions into memory that threads share.
 */
export function buildCloud(batches: Iterable<LocalPoints>, grid: CellGrid, shared = false): Cloud {
  const fragmentsOf = new Map<number, CellFragment[]>();
  for (const batch of batches) {
    for (const fragment of binIntoCells(batch, grid)) {
      const key = fragment.row * grid.columns + fragment.column;
      const known = fragmentsOf.get(key);
      if (known) known.push(fragment);
      else fragmentsOf.set(key, [fragment]);
    }
  }
  const cells: Cell[] = [];
  for (const key of [...fragmentsOf.keys()].sort((a, b) => a - b)) {
    cells.push(finishCell(grid, fragmentsOf.get(key)!, shared));
    fragmentsOf.delete(key);
  }
  return assembleCloud(grid, cells);
}

/**
 * Puts finished cells together, in row order.
 *
 * @throws RangeError when there is no point at all.
 */
export function assembleCloud(grid: CellGrid, cells: readonly Cell[]): Cloud {
  const ordered = [...cells].sort((a, b) => a.row - b.row || a.column - b.column);
  const min = [Infinity, Infinity, Infinity];
  const max = [-Infinity, -Infinity, -Infinity];
  let pointCount = 0;
  for (const cell of ordered) {
    pointCount += cell.pointCount;
    for (let k = 0; k < 3; k++) {
      const [low, high] = rangeOf(cell.positions, k);
      // Rounding keeps the order of sums, so the origin may be added last.
      min[k] = Math.min(min[k]!, low + cell.origin[k]!);
      max[k] = Math.max(max[k]!, high + cell.origin[k]!);
    }
  }
  if (pointCount === 0) throw new RangeError('A cloud needs at least one point.');
  return { grid, cells: ordered, pointCount, bounds: { min: vector(min), max: vector(max) } };
}

/** Least and greatest coordinate along one axis. */
function rangeOf(positions: Float32Array, axis: number): [number, number] {
  let low = Infinity;
  let high = -Infinity;
  for (let i = axis; i < positions.length; i += 3) {
    const value = positions[i]!;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return [low, high];
}

const vector = (values: readonly number[]): Vector3 => [values[0]!, values[1]!, values[2]!];
