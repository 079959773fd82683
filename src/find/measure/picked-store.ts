import type { Cell, Cloud } from '../../cloud/cloud.ts';
import type { MeasureKernels } from './measure-kernels.ts';
import type { PickedPoints, PickInput } from './pick-points.ts';
import type { RoofRaster } from './roof-raster.ts';

/** Points of chosen raster cells of one building. */
export interface PickedStore {
  /** Calls back with every point of a raster cell that was wanted, in a fixed order. */
  each(cell: number, visit: (positions: Float64Array, i: number, label: number, points: PickedPoints) => void): void;
}

export interface PointSource {
  readonly cloud: Cloud;
  readonly labels: readonly Uint16Array[];
  readonly kernels: MeasureKernels;
}

/** @param wanted  Non-zero for the raster cells whose points are wanted. */
export async function pickStore(raster: RoofRaster, wanted: Uint8Array, { cloud, labels, kernels }: PointSource): Promise<PickedStore> {
  const { side, step, firstColumn, firstRow, columns } = raster;
  const masks = new Map<number, Uint8Array>();
  for (let k = 0; k < wanted.length; k++) {
    if (!wanted[k]) continue;
    const x = firstColumn + (k % columns);
    const y = firstRow + Math.floor(k / columns);
    const key = Math.floor(y / side) * 65536 + Math.floor(x / side);
    let mask = masks.get(key);
    if (!mask) masks.set(key, (mask = new Uint8Array(side * side)));
    mask[mod(y, side) * side + mod(x, side)] = 1;
  }
  const chosen: { key: number; cell: Cell; labels: Uint16Array; mask: Uint8Array }[] = [];
  cloud.cells.forEach((cell, i) => {
    const key = cell.row * 65536 + cell.column;
    const mask = masks.get(key);
    if (mask) chosen.push({ key, cell, labels: labels[i]!, mask });
  });
  const work = chosen.map(({ cell, labels: own, mask }): PickInput => ({
    positions: cell.positions, origin: cell.origin, labels: own, colours: cell.colours, side, step, wanted: mask,
  }));
  const picked = await kernels.pickPoints(work);
  const byTile = new Map(chosen.map(({ key }, i) => [key, picked[i]!]));
  return {
    each(k, visit) {
      const x = firstColumn + (k % columns);
      const y = firstRow + Math.floor(k / columns);
      const points = byTile.get(Math.floor(y / side) * 65536 + Math.floor(x / side));
      if (!points) return;
      const cell = mod(y, side) * side + mod(x, side);
      for (let i = points.start[cell]!, end = points.start[cell + 1]!; i < end; i++) visit(points.positions, i, points.labels[i]!, points);
    },
  };
}

const mod = (value: number, by: number): number => ((value % by) + by) % by;
