import { cellCorner, type CellFragment } from '../cloud/bin-into-cells.ts';
import type { Cell, CellGrid, Cloud } from '../cloud/cloud.ts';

/** Points shown while files are read: enough to see what was flown, few enough to cost nothing. */
const SHOWN_POINTS = 400_000;
/** A picture is worth making anew when so many times the points of the last one were read. */
const STEP = 1.5;

/** Gathers a thin sample of what was read so far, for a first picture long before all points stand in their cells. */
export class ReadingPreview {
  private readonly fragmentsOf = new Map<number, CellFragment[]>();
  private read = 0;
  private readAtLast = 0;

  /** @param bounds  Of the whole survey, local frame, so that the picture need not be fitted anew. @param expected  Points that will come. */
  constructor(private readonly grid: CellGrid, private readonly bounds: Cloud['bounds'], private readonly expected: number) {}

  /** Takes its sample of one part. @returns The sample so far when it is worth a new picture, else null. */
  add(fragments: readonly CellFragment[]): Cloud | null {
    const step = Math.max(1, Math.ceil(this.expected / SHOWN_POINTS));
    for (const fragment of fragments) {
      this.read += fragment.pointCount;
      const count = Math.floor(fragment.pointCount / step);
      if (count === 0) continue;
      const key = fragment.row * this.grid.columns + fragment.column;
      const known = this.fragmentsOf.get(key);
      const sample = gather([fragment], count, (i) => i * step);
      if (known) known.push(sample);
      else this.fragmentsOf.set(key, [sample]);
    }
    if (this.fragmentsOf.size === 0 || this.read < STEP * this.readAtLast) return null;
    this.readAtLast = this.read;
    const cells = [...this.fragmentsOf.values()].map((list) => this.cellOf(list));
    return { grid: this.grid, cells, pointCount: cells.reduce((sum, { pointCount }) => sum + pointCount, 0), bounds: this.bounds };
  }

  /** Points of a file stand in the order of its flight lines or images; steps of the golden section make any first few an even sample. */
  private cellOf(fragments: readonly CellFragment[]): Cell {
    const count = fragments.reduce((sum, { pointCount }) => sum + pointCount, 0);
    const step = coprimeStep(count);
    const { column, row, ...points } = gather(fragments, count, (i) => (i * step) % count);
    return { column, row, origin: [...cellCorner(this.grid, column, row), 0], ...points };
  }
}

/** A number near the golden section of the count that meets every index once. */
function coprimeStep(count: number): number {
  const divisor = (a: number, b: number): number => (b === 0 ? a : divisor(b, a % b));
  let step = Math.max(1, Math.round(count * 0.618));
  while (divisor(step, count) !== 1) step++;
  return step;
}

/** @param indexOf  Where the i-th point stands, the fragments counted through. */
function gather(fragments: readonly CellFragment[], count: number, indexOf: (i: number) => number): CellFragment {
  const every = (name: 'colours' | 'intensity' | 'classification'): boolean => fragments.every((fragment) => fragment[name] !== null);
  const positions = new Float32Array(3 * count);
  const colours = every('colours') ? new Uint8Array(3 * count) : null;
  const intensity = every('intensity') ? new Uint16Array(count) : null;
  const classification = every('classification') ? new Uint8Array(count) : null;
  const starts = startsOf(fragments);
  for (let to = 0; to < count; to++) {
    const index = indexOf(to);
    let f = fragments.length - 1;
    while (starts[f]! > index) f--;
    const [fragment, from] = [fragments[f]!, index - starts[f]!];
    for (let axis = 0; axis < 3; axis++) {
      positions[3 * to + axis] = fragment.positions[3 * from + axis]!;
      if (colours) colours[3 * to + axis] = fragment.colours![3 * from + axis]!;
    }
    if (intensity) intensity[to] = fragment.intensity![from]!;
    if (classification) classification[to] = fragment.classification![from]!;
  }
  const { column, row } = fragments[0]!;
  return { column, row, pointCount: count, positions, colours, intensity, classification };
}

function startsOf(fragments: readonly CellFragment[]): number[] {
  let total = 0;
  return fragments.map(({ pointCount }) => (total += pointCount) - pointCount);
}
