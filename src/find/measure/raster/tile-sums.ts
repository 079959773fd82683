/**
 * First pass over the points: what each cell of a fine plan raster holds. One tile is one cell of the cloud, and the
 * raster's step divides the cell's side, so tiles never share a raster cell and can be summed in any thread.
 */
export interface TileInput {
  /** x, y, z from `origin`, `n × 3`. [m] */
  readonly positions: Float32Array;
  /** Local frame. [m] */
  readonly origin: readonly [number, number, number];
  /** Label of each point, 0 for none. */
  readonly labels: Uint16Array;
  /** Raster cells along a side. */
  readonly side: number;
  /** [m] */
  readonly step: number;
  /** Four numbers a label, label 0 included: unit normal and offset of its plane, local frame. */
  readonly planes: Float64Array;
  /** Nobody needs the points in the order they stand in: they and their labels are put in that of the raster cells. Default false. */
  readonly mayReorder?: boolean;
}

/** Arrays of one entry per raster cell, row by row from the south. */
export interface TileSums {
  /** The label with most points, and the one seen next. */
  readonly label: Uint16Array;
  readonly count: Uint16Array;
  readonly secondLabel: Uint16Array;
  readonly secondCount: Uint16Array;
  /** Sum of distances of the label's points above its plane, along the normal; and of their squares. [m, m²] */
  readonly sum: Float32Array;
  readonly squares: Float32Array;
  /** Points on no roof plane: how many, their mean, least and greatest elevation. Local frame. [m] */
  readonly looseCount: Uint16Array;
  readonly looseMean: Float32Array;
  readonly looseLow: Float32Array;
  readonly looseHigh: Float32Array;
}

/** Sums of a tile, and where its points lie: those of raster cell k are `order[start[k]]` to `order[start[k + 1] - 1]`, without an order the points at these places themselves. */
export interface TileAnswer {
  readonly sums: TileSums;
  readonly start: Uint32Array;
  readonly order: Uint32Array | null;
}

/** Sums of no points. @param size  Raster cells. */
export const emptySums = (size: number): TileSums => ({
  label: new Uint16Array(size),
  count: new Uint16Array(size),
  secondLabel: new Uint16Array(size),
  secondCount: new Uint16Array(size),
  sum: new Float32Array(size),
  squares: new Float32Array(size),
  looseCount: new Uint16Array(size),
  looseMean: new Float32Array(size),
  looseLow: new Float32Array(size),
  looseHigh: new Float32Array(size),
});

const MOST = 65535;

export function sumTile({ positions, origin, labels, side, step, planes, mayReorder = false }: TileInput): TileAnswer {
  const size = side * side;
  const sums = emptySums(size);
  const { label, count, secondLabel, secondCount, sum, squares, looseCount, looseMean, looseLow, looseHigh } = sums;
  const perStep = 1 / step;
  const last = side - 1;
  const [ox, oy, oz] = origin;
  const start = new Uint32Array(size + 1);
  const cellOf = new Uint32Array(labels.length);
  for (let i = 0; i < labels.length; i++) {
    const x = positions[3 * i]!;
    const y = positions[3 * i + 1]!;
    const z = positions[3 * i + 2]!;
    const column = Math.min(last, Math.max(0, Math.floor(x * perStep)));
    const row = Math.min(last, Math.max(0, Math.floor(y * perStep)));
    const k = row * side + column;
    cellOf[i] = k;
    start[k + 1]!++;
    const own = labels[i]!;
    if (own === 0) {
      const n = looseCount[k]!;
      const elevation = z + oz;
      if (n === 0) {
        looseLow[k] = elevation;
        looseHigh[k] = elevation;
      } else {
        if (elevation < looseLow[k]!) looseLow[k] = elevation;
        if (elevation > looseHigh[k]!) looseHigh[k] = elevation;
      }
      looseMean[k]! += (elevation - looseMean[k]!) / (n + 1);
      if (n < MOST) looseCount[k] = n + 1;
      continue;
    }
    const p = 4 * own;
    const above = planes[p]! * (x + ox) + planes[p + 1]! * (y + oy) + planes[p + 2]! * (z + oz) + planes[p + 3]!;
    if (count[k] === 0) label[k] = own;
    if (label[k] === own) {
      if (count[k]! < MOST) count[k]!++;
      sum[k]! += above;
      squares[k]! += above * above;
    } else {
      if (secondCount[k] === 0) secondLabel[k] = own;
      if (secondLabel[k] === own && secondCount[k]! < MOST) secondCount[k]!++;
    }
  }
  putLargerFirst(sums);
  for (let k = 0; k < size; k++) start[k + 1]! += start[k]!;
  const next = start.slice(0, -1);
  const order = new Uint32Array(labels.length);
  for (let i = 0; i < labels.length; i++) order[next[cellOf[i]!]!++] = i;
  if (!mayReorder) return { sums, start, order };
  reorder(positions, labels, order);
  return { sums, start, order: null };
}

/** A thread reorders one tile after the other, in the same room. */
const room = { positions: new Float32Array(0), labels: new Uint16Array(0) };

function reorder(positions: Float32Array, labels: Uint16Array, order: Uint32Array): void {
  const count = order.length;
  if (room.labels.length < count) {
    room.positions = new Float32Array(Math.ceil(3.75 * count));
    room.labels = new Uint16Array(Math.ceil(1.25 * count));
  }
  const { positions: put, labels: putLabels } = room;
  for (let j = 0; j < count; j++) {
    const i = order[j]!;
    put[3 * j] = positions[3 * i]!;
    put[3 * j + 1] = positions[3 * i + 1]!;
    put[3 * j + 2] = positions[3 * i + 2]!;
    putLabels[j] = labels[i]!;
  }
  positions.set(put.subarray(0, 3 * count));
  labels.set(putLabels.subarray(0, count));
}

/** Where the second label has more points it becomes the first; sums of the other are dropped, they are not its own. */
function putLargerFirst({ label, count, secondLabel, secondCount, sum, squares }: TileSums): void {
  for (let k = 0; k < label.length; k++) {
    if (secondCount[k]! <= count[k]!) continue;
    [label[k], secondLabel[k]] = [secondLabel[k]!, label[k]!];
    [count[k], secondCount[k]] = [secondCount[k]!, count[k]!];
    // Not a number of its own but a mark that the sums belong to nobody: they are never read where labels mix.
    sum[k] = 0;
    squares[k] = 0;
  }
}
