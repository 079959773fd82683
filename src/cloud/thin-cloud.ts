import type { Cell, Cloud } from './cloud.ts';

/**
 * An even sample of a cloud, in arrays of its own: the same share of every cell, its first points.
 *
 * @param most  Points at most; each cell keeps at least one.
 */
export function thinCloud(cloud: Cloud, most: number): Cloud {
  const share = Math.min(1, most / cloud.pointCount);
  const cells = cloud.cells.map((cell) => prefixOf(cell, Math.max(1, Math.floor(cell.pointCount * share))));
  return { ...cloud, cells, pointCount: cells.reduce((sum, { pointCount }) => sum + pointCount, 0) };
}

function prefixOf(cell: Cell, count: number): Cell {
  return {
    ...cell,
    pointCount: count,
    positions: cell.positions.slice(0, 3 * count),
    colours: cell.colours && cell.colours.slice(0, 3 * count),
    intensity: cell.intensity && cell.intensity.slice(0, count),
    classification: cell.classification && cell.classification.slice(0, count),
  };
}
