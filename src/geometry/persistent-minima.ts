/** A low point of a height raster and what runs down to it. */
export interface Minimum {
  readonly cell: number;
  /** Height that water must rise above the low point to spill into a deeper basin or over the raster's rim. */
  readonly persistence: number;
  /** Cells that drain to it, those of shallower basins it swallowed included. */
  readonly cells: number;
  /** Those cells, by height. */
  readonly members: readonly number[];
}

/**
 * Minima of a raster by persistence: cells are flooded from the lowest up; where two basins meet, the shallower one ends
 * (elder rule; merge tree of sublevel sets, Edelsbrunner, Letscher and Zomorodian 2002). A basin also ends where it first
 * reaches a cell without height, the rim; the deepest is then as deep as the lowest way out.
 *
 * @param heights  Row by row; NaN where there is none.
 * @param least  Basins shallower than this are swallowed and not listed.
 * @param openRim  False when walls stand around, so that nothing spills over the rim.
 */
export function persistentMinima(heights: ArrayLike<number>, columns: number, rows: number, least: number, openRim: boolean): Minimum[] {
  const order: number[] = [];
  for (let k = 0; k < columns * rows; k++) if (!Number.isNaN(heights[k]!)) order.push(k);
  order.sort((a, b) => heights[a]! - heights[b]! || a - b);
  /** Leaf basin a cell drains to; a leaf keeps its cells when its basin is joined to a deeper one. */
  const leafOf = new Int32Array(columns * rows).fill(-1);
  const leaves: Leaf[] = [];
  const find = (b: number): number => {
    while (leaves[b]!.joined !== b) b = leaves[b]!.joined = leaves[leaves[b]!.joined]!.joined;
    return b;
  };
  const deeper = (a: number, b: number): number => heights[leaves[a]!.bottom]! - heights[leaves[b]!.bottom]! || a - b;
  for (const k of order) {
    const here = heights[k]!;
    let atRim = false;
    /** Lowest neighbour already flooded, by basin. */
    const lowest = new Map<number, number>();
    const x = k % columns;
    for (let dy = -1; dy <= 1; dy++) {
      for (let dx = -1; dx <= 1; dx++) {
        const n = k + dy * columns + dx;
        if (x + dx < 0 || x + dx >= columns || n < 0 || n >= columns * rows || Number.isNaN(heights[n]!)) atRim = true;
        else if (leafOf[n] !== -1) {
          const basin = find(leafOf[n]!);
          const known = lowest.get(basin);
          if (known === undefined || heights[n]! < heights[known]!) lowest.set(basin, n);
        }
      }
    }
    const basins = [...lowest.keys()].sort(deeper);
    if (basins.length === 0) {
      leafOf[k] = leaves.length;
      leaves.push({ bottom: k, joined: leaves.length, spill: Infinity, into: -1, members: [] });
    } else {
      const down = [...lowest.values()].reduce((a, b) => (heights[b]! < heights[a]! || (heights[b] === heights[a] && b < a) ? b : a));
      leafOf[k] = leafOf[down]!;
    }
    const home = basins[0] ?? leafOf[k]!;
    for (const other of basins.slice(1)) {
      const basin = leaves[other]!;
      basin.spill = Math.min(basin.spill, here);
      if (basin.spill - heights[basin.bottom]! >= least) leaves[home]!.spill = Math.min(leaves[home]!.spill, here);
      else basin.into = leafOf[lowest.get(home)!]!;
      basin.joined = home;
    }
    if (atRim && openRim) leaves[home]!.spill = Math.min(leaves[home]!.spill, here);
  }
  const highest = order.length > 0 ? heights[order.at(-1)!]! : 0;
  const drainOf = (leaf: number): number => {
    while (leaves[leaf]!.into !== -1) leaf = leaves[leaf]!.into;
    return leaf;
  };
  for (const k of order) leaves[drainOf(leafOf[k]!)]!.members.push(k);
  return leaves
    .filter(({ into }) => into === -1)
    .map(({ bottom, spill, members }) => ({ cell: bottom, persistence: Math.min(spill, highest) - heights[bottom]!, cells: members.length, members }))
    .filter(({ persistence }) => persistence >= least)
    .sort((a, b) => b.persistence - a.persistence || a.cell - b.cell);
}

interface Leaf {
  readonly bottom: number;
  /** Basin it belongs to now. */
  joined: number;
  /** Height at which it first spills. */
  spill: number;
  /** Leaf it was swallowed by, -1 for none. */
  into: number;
  readonly members: number[];
}
