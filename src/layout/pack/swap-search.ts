import type { SeededRandom } from '../../geometry/seeded-random.ts';
import type { PackProblem, PlacedRectangle } from './pack-types.ts';
import type { Places } from './places.ts';

/** Copying this many places takes as long as one look. */
const COPIED_PER_LOOK = 16;
/** A shake takes as long as this many looks, whatever it finds. */
const LOOKS_PER_SHAKE = 200;
/** Rounding guard when two rectangles just touch. [m] */
const TOUCH = 1e-7;

/**
 * Improves a layout by swaps: take one rectangle out where two fit in, and shake by forcing one place in and putting out
 * what it covers (iterated local search for largest independent sets, Andrade, Resende & Werneck 2012, J. Heuristics 18).
 * That a taken-out rectangle makes room for two is seen without trying pairs: among the places free but for it, the one
 * that ends first and the one that begins last, along x or along y, do not touch.
 *
 * @param looks  Stops after this many looks at a place: work, not time, so that the answer is the same on any machine.
 * @param enough  Stops when this many rectangles stand.
 */
export function swapSearch(
  problem: PackProblem, places: Places, start: readonly PlacedRectangle[], random: SeededRandom, looks: number, enough: number,
): PlacedRectangle[] {
  if (places.x.length === 0 || start.length === 0) return [...start];
  const layout = new Layout(problem, places, start);
  layout.improve();
  const [best, resume] = [layout.emptySnapshot(), layout.emptySnapshot()];
  layout.keep(best);
  while (layout.looks < looks && best.placed.length < enough) {
    const before = layout.placed.length;
    layout.keep(resume);
    layout.looks += LOOKS_PER_SHAKE;
    layout.force(layout.choose(random));
    layout.improve();
    if (layout.placed.length > best.placed.length) layout.keep(best);
    // One fewer is borne now and then, to get out of a dead end; more is not.
    else if (layout.placed.length < before - (random.uniform() < 0.1 ? 1 : 0)) layout.restore(resume);
    if (layout.placed.length < best.placed.length - 1) layout.restore(best);
  }
  return best.placed;
}

/** A layout put aside; its arrays are used again, so that a search leaves no litter. */
interface Snapshot {
  readonly placed: PlacedRectangle[];
  readonly covers: Uint8Array;
}

class Layout {
  placed: PlacedRectangle[];
  /** Places looked at so far. */
  looks = 0;
  /** How many placed rectangles each place would overlap. */
  private covers: Uint8Array;
  private readonly widths: readonly number[];
  private readonly heights: readonly number[];
  /** Largest extent of any shape. [m] */
  private readonly reach: number;
  /** Rectangles about which something changed since they were last tried for a swap. */
  private pending = new Set<PlacedRectangle>();

  constructor(problem: PackProblem, private readonly places: Places, start: readonly PlacedRectangle[]) {
    this.widths = problem.shapes.map((shape) => shape.width + problem.gapX);
    this.heights = problem.shapes.map((shape) => shape.height + problem.gapY);
    this.reach = Math.max(...this.widths, ...this.heights);
    this.placed = start.map((one) => ({ ...one }));
    this.covers = new Uint8Array(places.x.length);
    for (const one of start) this.mark(one, 1);
  }

  emptySnapshot = (): Snapshot => ({ placed: [], covers: new Uint8Array(this.covers.length) });

  keep({ placed, covers }: Snapshot): void {
    this.looks += covers.length / COPIED_PER_LOOK;
    copyInto(placed, this.placed);
    covers.set(this.covers);
  }

  restore({ placed, covers }: Snapshot): void {
    this.looks += covers.length / COPIED_PER_LOOK;
    copyInto(this.placed, placed);
    this.covers.set(covers);
    this.pending.clear();
  }

  /** Fills free places and swaps one for two until neither is possible. */
  improve(): void {
    this.fillFree();
    while (this.pending.size > 0) {
      const one = this.pending.values().next().value!;
      this.pending.delete(one);
      const pair = this.pairFor(one);
      if (!pair) continue;
      this.remove(this.placed.indexOf(one));
      this.insert(pair[0]);
      this.insert(pair[1]);
      this.fillFree();
    }
  }

  /** A place to force in: of a few drawn, one that covers fewest rectangles. */
  choose(random: SeededRandom): number {
    let chosen = 0;
    let fewest = Infinity;
    for (let draw = 0; draw < 4; draw++) {
      const place = Math.floor(random.uniform() * this.places.x.length);
      const covered = this.covers[place]!;
      if (covered > 0 && covered < fewest) {
        fewest = covered;
        chosen = place;
      }
    }
    return chosen;
  }

  force(place: number): void {
    const one = this.rectangle(place);
    for (let i = this.placed.length - 1; i >= 0; i--) if (this.overlap(one, this.placed[i]!)) this.remove(i);
    this.insert(place);
  }

  private rectangle(place: number): PlacedRectangle {
    const { x, starts, startOf, shapeOf } = this.places;
    return { x: x[place]!, y: starts[startOf[place]!]!, shape: shapeOf[place]! };
  }

  private overlap(a: PlacedRectangle, b: PlacedRectangle): boolean {
    return a.x < b.x + this.widths[b.shape]! - TOUCH && b.x < a.x + this.widths[a.shape]! - TOUCH
      && a.y < b.y + this.heights[b.shape]! - TOUCH && b.y < a.y + this.heights[a.shape]! - TOUCH;
  }

  private insert(place: number): void {
    const one = this.rectangle(place);
    this.placed.push(one);
    this.mark(one, 1);
  }

  private remove(index: number): void {
    const one = this.placed[index]!;
    this.pending.delete(one);
    this.placed[index] = this.placed[this.placed.length - 1]!;
    this.placed.pop();
    this.mark(one, -1);
  }

  private mark(one: PlacedRectangle, by: 1 | -1): void {
    const { covers } = this;
    this.eachOver(one, (place) => {
      covers[place] = covers[place]! + by;
    });
    // A swap may have become possible for whatever shares a place with the change: it lies within two extents.
    for (const other of this.placed) {
      if (Math.abs(other.x - one.x) < 2 * this.reach && Math.abs(other.y - one.y) < 2 * this.reach) this.pending.add(other);
    }
  }

  private fillFree(): void {
    const { covers } = this;
    for (let place = covers.indexOf(0); place >= 0; place = covers.indexOf(0, place)) this.insert(place);
  }

  /** Two places that fit when a placed rectangle goes; null when none do. */
  private pairFor(one: PlacedRectangle): [number, number] | null {
    const { x, starts, startOf, shapeOf } = this.places;
    let [endsLeft, beginsRight, endsLow, beginsHigh] = [-1, -1, -1, -1];
    let [leftEnd, rightBegin, lowEnd, highBegin] = [Infinity, -Infinity, Infinity, -Infinity];
    this.eachOver(one, (place) => {
      if (this.covers[place] !== 1) return;
      const left = x[place]!;
      const low = starts[startOf[place]!]!;
      const right = left + this.widths[shapeOf[place]!]!;
      const high = low + this.heights[shapeOf[place]!]!;
      if (right < leftEnd) [leftEnd, endsLeft] = [right, place];
      if (left > rightBegin) [rightBegin, beginsRight] = [left, place];
      if (high < lowEnd) [lowEnd, endsLow] = [high, place];
      if (low > highBegin) [highBegin, beginsHigh] = [low, place];
    });
    if (leftEnd <= rightBegin + TOUCH) return [endsLeft, beginsRight];
    if (lowEnd <= highBegin + TOUCH) return [endsLow, beginsHigh];
    return null;
  }

  /** Visits every place that overlaps a rectangle. */
  private eachOver(one: PlacedRectangle, visit: (place: number) => void): void {
    const { x, starts, offsets } = this.places;
    const right = one.x + this.widths[one.shape]! - TOUCH;
    const high = one.y + this.heights[one.shape]! - TOUCH;
    for (let shape = 0; shape < offsets.length; shape++) {
      const own = offsets[shape]!;
      const left = one.x - this.widths[shape]! + TOUCH;
      const first = firstAbove(starts, 0, starts.length, one.y - this.heights[shape]! + TOUCH);
      for (let i = first; i < starts.length && starts[i]! < high; i++) {
        const end = own[i + 1]!;
        let place = firstAbove(x, own[i]!, end, left);
        const from = place;
        for (; place < end && x[place]! < right; place++) visit(place);
        this.looks += place - from + 4;
      }
    }
  }
}

function copyInto(target: PlacedRectangle[], source: readonly PlacedRectangle[]): void {
  target.length = source.length;
  for (let i = 0; i < source.length; i++) target[i] = source[i]!;
}

/** First index in a rising stretch whose value is above a limit. */
function firstAbove(values: Float64Array, from: number, to: number, limit: number): number {
  let low = from;
  let high = to;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (values[middle]! > limit) high = middle;
    else low = middle + 1;
  }
  return low;
}
