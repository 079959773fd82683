import type { Vector2, Vector3 } from '../../geometry/vector.ts';

/**
 * A polygon with holes as level strips: for every row of the plan the spans it covers. Exact along x; across rows the error
 * averages out to far below the row height.
 */
export interface PlanSpans {
  readonly firstRow: number;
  /** Start and end of each span, in pairs, by row. [m] */
  readonly rows: readonly Float64Array[];
  readonly rowHeight: number;
  /** [m²] */
  readonly planArea: number;
}

export interface PlanOverlap {
  /** [m²] */
  readonly planArea: number;
  /** Middle of the common area; meaningless when there is none. */
  readonly centre: Vector2;
}

/** Rows of 2 cm: half the finest cell the protocol asks for. [m] */
const ROW = 0.02;

/** @param rings  Outer ring and holes by the even-odd rule, in any order and sense. */
export function planSpans(rings: readonly (readonly (Vector2 | Vector3)[])[]): PlanSpans {
  const ys = rings.flatMap((ring) => ring.map((p) => p[1]));
  if (ys.length === 0) return { firstRow: 0, rows: [], rowHeight: ROW, planArea: 0 };
  const firstRow = Math.ceil(Math.min(...ys) / ROW - 0.5);
  const lastRow = Math.floor(Math.max(...ys) / ROW - 0.5);
  const rows: Float64Array[] = [];
  let planArea = 0;
  for (let r = firstRow; r <= lastRow; r++) {
    const cuts = cutsAt(rings, (r + 0.5) * ROW);
    for (let i = 0; i + 1 < cuts.length; i += 2) planArea += (cuts[i + 1]! - cuts[i]!) * ROW;
    rows.push(cuts);
  }
  return { firstRow, rows, rowHeight: ROW, planArea };
}

function cutsAt(rings: readonly (readonly (Vector2 | Vector3)[])[], y: number): Float64Array {
  const cuts: number[] = [];
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [xa, ya] = ring[j]!;
      const [xb, yb] = ring[i]!;
      if (ya > y !== yb > y) cuts.push(xa + ((xb - xa) * (y - ya)) / (yb - ya));
    }
  }
  return Float64Array.from(cuts).sort();
}

export function planOverlap(a: PlanSpans, b: PlanSpans): PlanOverlap {
  let area = 0;
  let momentX = 0;
  let momentY = 0;
  const start = Math.max(a.firstRow, b.firstRow);
  const end = Math.min(a.firstRow + a.rows.length, b.firstRow + b.rows.length);
  for (let r = start; r < end; r++) {
    const p = a.rows[r - a.firstRow]!;
    const q = b.rows[r - b.firstRow]!;
    for (let i = 0, j = 0; i + 1 < p.length && j + 1 < q.length; ) {
      const low = Math.max(p[i]!, q[j]!);
      const high = Math.min(p[i + 1]!, q[j + 1]!);
      if (high > low) {
        area += (high - low) * ROW;
        momentX += ((high * high - low * low) / 2) * ROW;
        momentY += (high - low) * ROW * (r + 0.5) * ROW;
      }
      if (p[i + 1]! < q[j + 1]!) i += 2;
      else j += 2;
    }
  }
  return { planArea: area, centre: area > 0 ? [momentX / area, momentY / area] : [0, 0] };
}
