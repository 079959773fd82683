import { cellCorner, type CellFragment } from './bin-into-cells.ts';
import type { Cell, CellGrid, PointAttributes } from './cloud.ts';
import { thinningOrder } from './thinning-order.ts';

/**
 * Joins the fragments of one cell and puts its points into thinning order. The same points give the same bytes,
 * however they were split and ordered.
 *
 * @param fragments  All of one cell; an attribute that any of them lacks is dropped.
 * @throws RangeError when there is none, or when they are of different cells.
 */
export function finishCell(grid: CellGrid, fragments: readonly CellFragment[]): Cell {
  const [first] = fragments;
  if (!first) throw new RangeError('A cell needs at least one fragment.');
  if (fragments.some((fragment) => fragment.column !== first.column || fragment.row !== first.row)) {
    throw new RangeError(`Fragments of several cells were given for cell ${first.column}, ${first.row}.`);
  }
  const joined = fragments.length === 1 ? first : join(fragments);
  const order = thinningOrder(joined.positions, grid.cellSize, attributeOrder(joined));
  const corner = cellCorner(grid, first.column, first.row);
  return {
    column: first.column,
    row: first.row,
    origin: [corner[0], corner[1], 0],
    pointCount: joined.pointCount,
    positions: gather(joined.positions, order, 3),
    colours: joined.colours && gather(joined.colours, order, 3),
    intensity: joined.intensity && gather(joined.intensity, order, 1),
    classification: joined.classification && gather(joined.classification, order, 1),
  };
}

function join(fragments: readonly CellFragment[]): CellFragment {
  let pointCount = 0;
  for (const fragment of fragments) pointCount += fragment.pointCount;
  const { column, row } = fragments[0]!;
  const positions = new Float32Array(3 * pointCount);
  const colours = fragments.every((f) => f.colours) ? new Uint8Array(3 * pointCount) : null;
  const intensity = fragments.every((f) => f.intensity) ? new Uint16Array(pointCount) : null;
  const classification = fragments.every((f) => f.classification) ? new Uint8Array(pointCount) : null;
  let at = 0;
  for (const fragment of fragments) {
    positions.set(fragment.positions, 3 * at);
    colours?.set(fragment.colours!, 3 * at);
    intensity?.set(fragment.intensity!, at);
    classification?.set(fragment.classification!, at);
    at += fragment.pointCount;
  }
  return { column, row, pointCount, positions, colours, intensity, classification };
}

function attributeOrder({ colours, intensity, classification }: PointAttributes): (a: number, b: number) => number {
  return (a, b) => {
    if (colours) {
      for (let k = 0; k < 3; k++) {
        const difference = colours[3 * a + k]! - colours[3 * b + k]!;
        if (difference !== 0) return difference;
      }
    }
    if (intensity && intensity[a] !== intensity[b]) return intensity[a]! - intensity[b]!;
    return classification ? classification[a]! - classification[b]! : 0;
  };
}

function gather<Values extends Float32Array | Uint8Array | Uint16Array>(values: Values, order: Uint32Array, width: 1 | 3): Values {
  const gathered = new (values.constructor as new (length: number) => Values)(values.length);
  if (width === 1) {
    for (let i = 0; i < order.length; i++) gathered[i] = values[order[i]!]!;
    return gathered;
  }
  for (let i = 0; i < order.length; i++) {
    const from = 3 * order[i]!;
    gathered[3 * i] = values[from]!;
    gathered[3 * i + 1] = values[from + 1]!;
    gathered[3 * i + 2] = values[from + 2]!;
  }
  return gathered;
}
