import { cellCorner, type CellFragment } from './bin-into-cells.ts';
import type { Cell, CellGrid, PointAttributes } from './cloud.ts';
import { roomFor } from './point-memory.ts';
import { SortingRoom, thinningOrder } from './thinning-order.ts';

/** A thread finishes one cell after the other, in the same room. */
const room = { sorting: new SortingRoom(), positions: new Float32Array(0) };

/**
 * Joins the fragments of one cell and puts its points into thinning order. The same points give the same bytes,
 * however they were split and ordered.
 *
 * @param fragments  All of one cell; an attribute that any of them lacks is dropped.
 * @param shared  Puts the positions into memory that threads share.
 * @throws RangeError when there is none, or when they are of different cells.
 */
export function finishCell(grid: CellGrid, fragments: readonly CellFragment[], shared = false): Cell {
  const [first] = fragments;
  if (!first) throw new RangeError('A cell needs at least one fragment.');
  if (fragments.some((fragment) => fragment.column !== first.column || fragment.row !== first.row)) {
    throw new RangeError(`Fragments of several cells were given for cell ${first.column}, ${first.row}.`);
  }
  const joined = fragments.length === 1 ? first : join(fragments);
  const order = thinningOrder(joined.positions, grid.cellSize, attributeOrder(joined), room.sorting);
  const corner = cellCorner(grid, first.column, first.row);
  return {
    column: first.column,
    row: first.row,
    origin: [corner[0], corner[1], 0],
    pointCount: joined.pointCount,
    positions: gatherPositions(joined.positions, order, shared),
    colours: joined.colours && gatherColours(joined.colours, order),
    intensity: joined.intensity && gather(joined.intensity, order),
    classification: joined.classification && gather(joined.classification, order),
  };
}

/** Positions lie in the room: they are gathered out of it in their order. */
function join(fragments: readonly CellFragment[]): CellFragment {
  let pointCount = 0;
  for (const fragment of fragments) pointCount += fragment.pointCount;
  const { column, row } = fragments[0]!;
  if (room.positions.length < 3 * pointCount) room.positions = new Float32Array(Math.ceil(3.75 * pointCount));
  const positions = room.positions.subarray(0, 3 * pointCount);
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

// Three loops and not one: code that meets several kinds of arrays runs at half the speed.

function gatherPositions(positions: Float32Array, order: Uint32Array, shared: boolean): Float32Array {
  const gathered = roomFor(Float32Array, positions.length, shared);
  for (let i = 0, to = 0; i < order.length; i++, to += 3) {
    const from = 3 * order[i]!;
    gathered[to] = positions[from]!;
    gathered[to + 1] = positions[from + 1]!;
    gathered[to + 2] = positions[from + 2]!;
  }
  return gathered;
}

function gatherColours(colours: Uint8Array, order: Uint32Array): Uint8Array {
  const gathered = new Uint8Array(colours.length);
  for (let i = 0, to = 0; i < order.length; i++, to += 3) {
    const from = 3 * order[i]!;
    gathered[to] = colours[from]!;
    gathered[to + 1] = colours[from + 1]!;
    gathered[to + 2] = colours[from + 2]!;
  }
  return gathered;
}

function gather<Values extends Uint8Array | Uint16Array>(values: Values, order: Uint32Array): Values {
  const gathered = new (values.constructor as new (length: number) => Values)(values.length);
  for (let i = 0; i < order.length; i++) gathered[i] = values[order[i]!]!;
  return gathered;
}
