import type { Vector3 } from '../geometry/vector.ts';
import type { Environment } from './source-handle.ts';
import type { SourceToLocal } from '../site/local-frame.ts';
import { toLocalInPlace } from '../site/to-local.ts';
import type { SurfaceModel } from '../sun/surface-model.ts';
import { moveInPlace } from './correct/correct-cloud.ts';
import type { Move } from './correct/move-model.ts';
import { readUpright } from './read-points.ts';
import type { PartInput } from './tasks.ts';

/** Where the cells of a surface lie. */
export type SurfaceCells = Pick<SurfaceModel, 'origin' | 'cellSize' | 'columns' | 'rows'>;

export interface HeightsWork extends PartInput {
  readonly toLocal: SourceToLocal;
  /** How a check by tape moved the record since. */
  readonly moves: readonly Move[];
  readonly cells: SurfaceCells;
}

/** Points of a part by the cell they fall in; a cell may come several times. */
export interface Heights {
  readonly cells: Uint32Array;
  /** Local frame. [m] */
  readonly heights: Float32Array;
}

/** Reads a part of a file and tells which cells of a surface its points fall in, and how high. */
export async function heightsOfPart({ file, toLocal, moves, cells, ...part }: HeightsWork, environment: Environment): Promise<Heights> {
  const { positions } = await readUpright(environment.open(file), part);
  toLocalInPlace(positions, toLocal);
  moveInPlace(positions, moves);
  return heightsOf(positions, cells);
}

/** @param positions  x, y, z, `n × 3`, local frame. [m] */
export function heightsOf(positions: Float64Array, { origin, cellSize, columns, rows }: SurfaceCells): Heights {
  const cells = new Uint32Array(positions.length / 3);
  const heights = new Float32Array(cells.length);
  let count = 0;
  for (let i = 0; i < positions.length; i += 3) {
    const column = Math.floor((positions[i]! - origin[0]) / cellSize);
    const row = Math.floor((positions[i + 1]! - origin[1]) / cellSize);
    if (column < 0 || column >= columns || row < 0 || row >= rows) continue;
    cells[count] = row * columns + column;
    heights[count++] = positions[i + 2]!;
  }
  return { cells: cells.slice(0, count), heights: heights.slice(0, count) };
}

/** The same for points of a cell, which count from its origin. @param positions  x, y, z, `n × 3`. [m] */
export function heightsOfCell(origin: Vector3, positions: Float32Array, cells: SurfaceCells): Heights {
  return heightsOf(Float64Array.from(positions, (value, i) => value + origin[i % 3]!), cells);
}
