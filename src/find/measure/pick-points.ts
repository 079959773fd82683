/**
 * Second pass over the points: those in raster cells near an edge or a thing on the roof, for a closer look.
 */
export interface PickInput {
  /** x, y, z from `origin`, `n × 3`. [m] */
  readonly positions: Float32Array;
  /** Local frame. [m] */
  readonly origin: readonly [number, number, number];
  readonly labels: Uint16Array;
  /** Red, green, blue, `n × 3`, or null. */
  readonly colours: Uint8Array | null;
  /** Raster cells along a side. */
  readonly side: number;
  /** [m] */
  readonly step: number;
  /** Non-zero for the raster cells whose points are wanted, row by row. */
  readonly wanted: Uint8Array;
}

/** Picked points, sorted by raster cell, in the order given within a cell. */
export interface PickedPoints {
  /** Local frame, `n × 3`. [m] */
  readonly positions: Float64Array;
  readonly labels: Uint16Array;
  readonly colours: Uint8Array | null;
  /** Points of raster cell k are numbers `start[k]` to `start[k + 1]` - 1. */
  readonly start: Uint32Array;
}

export function pickPoints({ positions, origin, labels, colours, side, step, wanted }: PickInput): PickedPoints {
  const perStep = 1 / step;
  const last = side - 1;
  const cellOf = (i: number): number => {
    const column = Math.min(last, Math.max(0, Math.floor(positions[3 * i]! * perStep)));
    return Math.min(last, Math.max(0, Math.floor(positions[3 * i + 1]! * perStep))) * side + column;
  };
  const start = new Uint32Array(side * side + 1);
  for (let i = 0; i < labels.length; i++) {
    const k = cellOf(i);
    if (wanted[k]) start[k + 1]!++;
  }
  for (let k = 0; k < side * side; k++) start[k + 1]! += start[k]!;
  const count = start[side * side]!;
  const picked = {
    positions: new Float64Array(3 * count),
    labels: new Uint16Array(count),
    colours: colours ? new Uint8Array(3 * count) : null,
    start,
  };
  const next = start.slice(0, -1);
  for (let i = 0; i < labels.length; i++) {
    const k = cellOf(i);
    if (!wanted[k]) continue;
    const to = next[k]!++;
    picked.labels[to] = labels[i]!;
    for (let axis = 0; axis < 3; axis++) {
      picked.positions[3 * to + axis] = positions[3 * i + axis]! + origin[axis]!;
      if (colours) picked.colours![3 * to + axis] = colours[3 * i + axis]!;
    }
  }
  return picked;
}
