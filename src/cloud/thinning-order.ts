/** Room to sort in, used for one cell after the other: made anew for each it would be twice as large as the points. */
export class SortingRoom {
  keys = new Uint32Array(0);
  from = new Uint32Array(0);
  to = new Uint32Array(0);
  dealt = new Uint32Array(0);

  /** Makes room for so many points. */
  hold(count: number): void {
    if (this.keys.length >= count) return;
    const larger = Math.ceil(1.25 * count);
    this.keys = new Uint32Array(larger);
    this.from = new Uint32Array(larger);
    this.to = new Uint32Array(larger);
    this.dealt = new Uint32Array(larger);
  }
}

/**
 * The order in which a cell keeps its points: along a Z-shaped curve through the plan, then dealt out by reversed bits
 * of the place on the curve, so that the first 1/2, 1/4, 1/8 … of the points are every 2nd, 4th, 8th point along the
 * curve, and any other prefix lies between two of them.
 *
 * Points with the same place on the curve (a grid of 65 536 × 65 536 over the cell) are ordered by x, y, z and then by
 * `compareTies`, so the result depends on the set of points alone.
 *
 * @param positions  x, y, z, `n × 3`; x and y from 0 to `size`. [m]
 * @param compareTies  Orders two points with the same coordinates; 0 when nothing tells them apart.
 * @param room  Is written over.
 * @returns For each place of the new order, the index of the point that stands there; it lies in the room.
 */
export function thinningOrder(
  positions: Float32Array,
  size: number,
  compareTies: (a: number, b: number) => number,
  room = new SortingRoom(),
): Uint32Array {
  const count = positions.length / 3;
  room.hold(count);
  const keys = room.keys.subarray(0, count);
  const scale = 65_536 / size;
  for (let i = 0; i < count; i++) {
    keys[i] = (spread(quantise(positions[3 * i]! * scale)) | (spread(quantise(positions[3 * i + 1]! * scale)) << 1)) >>> 0;
  }
  const curve = radixOrder(keys, room);
  orderTies(curve, keys, positions, compareTies);
  return dealByReversedBits(curve, room.dealt.subarray(0, count));
}

const quantise = (value: number): number => (value < 0 ? 0 : value > 65_535 ? 65_535 : value | 0);

/** 16 bits to every second of 32 bits (the usual shift-and-mask of Morton 1966). */
function spread(value: number): number {
  let v = value;
  v = (v | (v << 8)) & 0x00ff00ff;
  v = (v | (v << 4)) & 0x0f0f0f0f;
  v = (v | (v << 2)) & 0x33333333;
  return (v | (v << 1)) & 0x55555555;
}

/** Indices in the order of their keys; three passes of 11 bits, stable. */
function radixOrder(keys: Uint32Array, room: SortingRoom): Uint32Array {
  const count = keys.length;
  let from = room.from.subarray(0, count);
  let to = room.to.subarray(0, count);
  for (let i = 0; i < count; i++) from[i] = i;
  const starts = new Uint32Array(2048);
  for (let shift = 0; shift < 33; shift += 11) {
    starts.fill(0);
    for (let i = 0; i < count; i++) starts[(keys[i]! >>> shift) & 2047]!++;
    for (let k = 0, sum = 0; k < 2048; k++) {
      const here = starts[k]!;
      starts[k] = sum;
      sum += here;
    }
    for (let i = 0; i < count; i++) {
      const index = from[i]!;
      to[starts[(keys[index]! >>> shift) & 2047]!++] = index;
    }
    [from, to] = [to, from];
  }
  return from;
}

function orderTies(
  order: Uint32Array,
  keys: Uint32Array,
  positions: Float32Array,
  compareTies: (a: number, b: number) => number,
): void {
  const compare = (a: number, b: number): number =>
    positions[3 * a]! - positions[3 * b]! ||
    positions[3 * a + 1]! - positions[3 * b + 1]! ||
    positions[3 * a + 2]! - positions[3 * b + 2]! ||
    compareTies(a, b);
  for (let begin = 0; begin < order.length; ) {
    let end = begin + 1;
    while (end < order.length && keys[order[end]!] === keys[order[begin]!]) end++;
    if (end - begin > 1) order.subarray(begin, end).sort(compare);
    begin = end;
  }
}

function dealByReversedBits(curve: Uint32Array, dealt: Uint32Array): Uint32Array {
  const count = curve.length;
  let bits = 0;
  while (2 ** bits < count) bits++;
  let filled = 0;
  let reversed = 0;
  const top = 2 ** bits / 2;
  // Counts upward with the carry running from the top bit down.
  for (let i = 0; i < 2 ** bits; i++) {
    if (reversed < count) dealt[filled++] = curve[reversed]!;
    let bit = top;
    while (bit >= 1 && reversed & bit) {
      reversed ^= bit;
      bit >>>= 1;
    }
    reversed |= bit;
  }
  return dealt;
}
