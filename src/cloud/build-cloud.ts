import type { Vector3 } from '../geometry/vector.ts';
import { binIntoCells, type CellFragment, type LocalPoints } from './bin-into-cells.ts';
import type { Cell, CellGrid, Cloud } from './cloud.ts';
import { finishCell } from './finish-cell.ts';

/**
 * Points to cloud in one thread: bins every batch, then finishes every cell.
 *
 * @param batches  Local frame; each is let go once it is binned, so hand over an iterator when memory matters.
 */
export function buildCloud(batches: Iterable<LocalPoints>, grid: CellGrid): Cloud {
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
    cells.push(finishCell(grid, fragmentsOf.get(key)!));
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
    for (let i = 0; i < cell.positions.length; i += 3) {
      for (let k = 0; k < 3; k++) {
        const value = cell.positions[i + k]! + cell.origin[k]!;
        if (value < min[k]!) min[k] = value;
        if (value > max[k]!) max[k] = value;
      }
    }
  }
  if (pointCount === 0) throw new RangeError('A cloud needs at least one point.');
  return { grid, cells: ordered, pointCount, bounds: { min: vector(min), max: vector(max) } };
}

const vector = (values: readonly number[]): Vector3 => [values[0]!, values[1]!, values[2]!];
