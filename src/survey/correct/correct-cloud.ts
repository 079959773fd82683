import type { Cell, Cloud } from '../../cloud/cloud.ts';
import type { AppliedCorrection } from '../../roof/record.ts';
import { stretchOf } from './apply-correction.ts';
import { placeOf, type Stretch } from './stretch-model.ts';

/** Corrections that move points against each other; the others leave the cloud as it is. */
export const stretchesOf = (corrections: readonly AppliedCorrection[]): Stretch[] =>
  corrections.filter(({ kind }) => kind === 'scale' || kind === 'vertical-scale').map(({ kind, amount, u95, about }) => stretchOf(kind, amount!, u95, about));

/** One cell after all stretches, with positions of its own; attributes are shared. */
export function stretchCell(cell: Cell, stretches: readonly Stretch[]): Cell {
  const origin = stretches.reduce(placeOf, cell.origin);
  const across = stretches.reduce((product, { horizontal }) => product * horizontal, 1);
  const upright = stretches.reduce((product, { vertical }) => product * vertical, 1);
  const positions = new Float32Array(cell.positions.length);
  for (let i = 0; i < positions.length; i += 3) {
    positions[i] = cell.positions[i]! * across;
    positions[i + 1] = cell.positions[i + 1]! * across;
    positions[i + 2] = cell.positions[i + 2]! * upright;
  }
  return { ...cell, origin, positions };
}

/** The cloud of stretched cells, its grid and bounds with it. */
export function stretchedCloud(cloud: Cloud, cells: readonly Cell[], stretches: readonly Stretch[]): Cloud {
  const [x, y] = stretches.reduce(placeOf, [cloud.grid.origin[0], cloud.grid.origin[1], 0]);
  const cellSize = stretches.reduce((size, { horizontal }) => size * horizontal, cloud.grid.cellSize);
  return {
    ...cloud,
    cells,
    grid: { ...cloud.grid, origin: [x, y], cellSize },
    bounds: { min: stretches.reduce(placeOf, cloud.bounds.min), max: stretches.reduce(placeOf, cloud.bounds.max) },
  };
}
