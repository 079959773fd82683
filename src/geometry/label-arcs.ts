/**
 * A raster of labels as a planar map: the lines between differently labelled cells, cut where three or more labels meet.
 * Both neighbours of a line refer to the same arc, so whatever is made of it later fits without gap or overlap.
 */
export interface LabelArc {
  /** Lattice positions x, y one after another; (0, 0) is the lower left corner of the first cell. */
  readonly path: Int32Array;
  /** Label on the left and on the right of the path. */
  readonly left: number;
  readonly right: number;
  /** True when it ends where it starts and meets no other arc. */
  readonly closed: boolean;
}

/** One closed boundary of a label, the label on its left: arcs in order, `forward` as they are stored. */
export interface LabelRing {
  readonly label: number;
  readonly arcs: readonly { readonly arc: number; readonly forward: boolean }[];
}

export interface LabelMap {
  readonly arcs: readonly LabelArc[];
  readonly rings: readonly LabelRing[];
}

/** East, north, west, south. */
const STEP_X = [1, 0, -1, 0] as const;
const STEP_Y = [0, 1, 0, -1] as const;

/**
 * Traces all arcs and rings. Two cells of one label that touch only at a corner count as apart.
 *
 * @param labels  Row by row from the south; the outermost cells must be 0.
 */
export function traceLabelArcs(labels: Uint16Array, columns: number, rows: number): LabelMap {
  const width = columns + 1;
  const at = (x: number, y: number): number => (x < 0 || y < 0 || x >= columns || y >= rows ? 0 : labels[y * columns + x]!);
  /** Label left and right of the step that leaves (x, y) in a direction. */
  const leftOf = (x: number, y: number, d: number): number => at(d === 1 || d === 2 ? x - 1 : x, d >= 2 ? y - 1 : y);
  const rightOf = (x: number, y: number, d: number): number => at(d >= 2 ? x - 1 : x, d === 0 || d === 3 ? y - 1 : y);
  const isLine = (x: number, y: number, d: number): boolean => leftOf(x, y, d) !== rightOf(x, y, d);
  const degree = (x: number, y: number): number => {
    let count = 0;
    for (let d = 0; d < 4; d++) if (isLine(x, y, d)) count++;
    return count;
  };
  // One bit per direction a lattice position was left in.
  const done = new Uint8Array(width * (rows + 1));
  const arcs: LabelArc[] = [];
  /** Arc and sense by lattice position and direction it leaves in. */
  const leaving = new Map<number, { arc: number; forward: boolean }>();
  const arriving: { x: number; y: number; d: number }[] = [];

  const trace = (x0: number, y0: number, d0: number, closed: boolean): void => {
    const path = [x0, y0];
    let [x, y, d] = [x0, y0, d0];
    for (;;) {
      done[y * width + x]! |= 1 << d;
      x += STEP_X[d]!;
      y += STEP_Y[d]!;
      done[y * width + x]! |= 1 << ((d + 2) % 4);
      path.push(x, y);
      if (closed ? x === x0 && y === y0 : degree(x, y) > 2) break;
      for (let turn = 1; turn >= -1; turn--) {
        const next = (d + turn + 4) % 4;
        if (isLine(x, y, next)) {
          d = next;
          break;
        }
      }
    }
    const arc = arcs.length;
    arcs.push({ path: Int32Array.from(path), left: leftOf(x0, y0, d0), right: rightOf(x0, y0, d0), closed });
    leaving.set((y0 * width + x0) * 4 + d0, { arc, forward: true });
    leaving.set((y * width + x) * 4 + ((d + 2) % 4), { arc, forward: false });
    arriving.push({ x, y, d });
  };

  // Most positions lie within one label.
  const onLines: number[] = [];
  for (let y = 0; y <= rows; y++) {
    for (let x = 0; x <= columns; x++) {
      const here = at(x, y);
      if (at(x - 1, y) !== here || at(x, y - 1) !== here || at(x - 1, y - 1) !== here) onLines.push(y * width + x);
    }
  }
  for (const closed of [false, true]) {
    for (const place of onLines) {
      const x = place % width;
      const y = Math.floor(place / width);
      if (closed ? degree(x, y) !== 2 : degree(x, y) <= 2) continue;
      for (let d = 0; d < 4; d++) if (isLine(x, y, d) && !(done[place]! & (1 << d))) trace(x, y, d, closed);
    }
  }

  const used = new Set<number>();
  const rings: LabelRing[] = [];
  const ringFrom = (start: number, startForward: boolean): void => {
    const label = startForward ? arcs[start]!.left : arcs[start]!.right;
    const list: { arc: number; forward: boolean }[] = [];
    let [arc, forward] = [start, startForward];
    for (;;) {
      used.add(2 * arc + (forward ? 0 : 1));
      list.push({ arc, forward });
      if (arcs[arc]!.closed) break;
      const { x, y, d } = endOf(arc, forward);
      let next: { arc: number; forward: boolean } | undefined;
      // Leftmost turn first keeps to the cell the ring came along.
      for (let turn = 1; turn >= -1 && !next; turn--) next = leaving.get((y * width + x) * 4 + ((d + turn + 4) % 4));
      if (!next || (next.arc === start && next.forward === startForward)) break;
      ({ arc, forward } = next);
    }
    rings.push({ label, arcs: list });
  };
  const endOf = (arc: number, forward: boolean): { x: number; y: number; d: number } => {
    if (forward) return arriving[arc]!;
    const { path } = arcs[arc]!;
    const [x, y, nx, ny] = [path[0]!, path[1]!, path[2]!, path[3]!];
    const out = nx > x ? 0 : ny > y ? 1 : nx < x ? 2 : 3;
    return { x, y, d: (out + 2) % 4 };
  };
  arcs.forEach((arc, i) => {
    if (arc.left !== 0 && !used.has(2 * i)) ringFrom(i, true);
    if (arc.right !== 0 && !used.has(2 * i + 1)) ringFrom(i, false);
  });
  return { arcs, rings };
}
