/** Connected patches of a raster: cells of one value that share sides. */
export interface RasterComponents {
  /** 0 where the cell was left out, else 1, 2, 3 … in order of first cell. */
  readonly component: Uint32Array;
  /** Cells of each; entry 0 is unused. */
  readonly sizes: readonly number[];
  /** First cell of each; entry 0 is unused. */
  readonly first: readonly number[];
}

/**
 * @param valueOf  Value of a cell; negative leaves it out.
 * @param diagonal  Also join cells that share only a corner.
 */
export function rasterComponents(
  columns: number,
  rows: number,
  valueOf: (cell: number) => number,
  diagonal = false,
): RasterComponents {
  const component = new Uint32Array(columns * rows);
  const sizes = [0];
  const first = [-1];
  const stack: number[] = [];
  let number = 0;
  let value = 0;
  const visit = (n: number): void => {
    if (component[n] === 0 && valueOf(n) === value) {
      component[n] = number;
      stack.push(n);
    }
  };
  for (let start = 0; start < component.length; start++) {
    if (component[start] !== 0) continue;
    value = valueOf(start);
    if (value < 0) continue;
    number = sizes.length;
    let size = 0;
    component[start] = number;
    stack.push(start);
    while (stack.length > 0) {
      const k = stack.pop()!;
      size++;
      const x = k % columns;
      const west = x > 0;
      const east = x + 1 < columns;
      const south = k >= columns;
      const north = k + columns < component.length;
      if (west) visit(k - 1);
      if (east) visit(k + 1);
      if (south) visit(k - columns);
      if (north) visit(k + columns);
      if (diagonal) {
        if (west && south) visit(k - columns - 1);
        if (east && south) visit(k - columns + 1);
        if (west && north) visit(k + columns - 1);
        if (east && north) visit(k + columns + 1);
      }
    }
    sizes.push(size);
    first.push(start);
  }
  return { component, sizes, first };
}
