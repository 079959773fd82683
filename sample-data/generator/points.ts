/** The generator's own small geometry; it shares none with the finder it is meant to test. */
export type P2 = [number, number];
export type P3 = [number, number, number];

export const minus = (a: P3, b: P3): P3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
export const inner = (a: P3, b: P3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const outer = (a: P3, b: P3): P3 => [
  a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0],
];
export const unit = (a: P3): P3 => {
  const size = Math.hypot(a[0], a[1], a[2]);
  return [a[0] / size, a[1] / size, a[2] / size];
};
export const middle = (a: P3, b: P3): P3 => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2];
export const between = (a: P3, b: P3, share: number): P3 => [
  a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share, a[2] + (b[2] - a[2]) * share,
];
export const mean = (ring: readonly P3[]): P3 => {
  const sum: P3 = [0, 0, 0];
  for (const p of ring) for (let k = 0; k < 3; k++) sum[k]! += p[k]! / ring.length;
  return sum;
};

/** Vector area of a ring: along its normal, as long as its area. */
export function vectorArea(ring: readonly P3[]): P3 {
  const sum: P3 = [0, 0, 0];
  const o = ring[0]!;
  for (let i = 1; i + 1 < ring.length; i++) {
    const c = outer(minus(ring[i]!, o), minus(ring[i + 1]!, o));
    for (let k = 0; k < 3; k++) sum[k]! += c[k]! / 2;
  }
  return sum;
}
export const normalOf = (ring: readonly P3[]): P3 => unit(vectorArea(ring));

/** Drops corners that lie on the straight line between their neighbours. */
export function withoutStraightCorners(ring: readonly P3[]): P3[] {
  return ring.filter((p, i) => {
    const a = minus(p, ring[(i + ring.length - 1) % ring.length]!);
    const b = minus(ring[(i + 1) % ring.length]!, p);
    return Math.hypot(...outer(a, b)) > 1e-9 * Math.hypot(...a) * Math.hypot(...b) || inner(a, b) < 0;
  });
}

/** Where something stands: turn about z, then shift. */
export interface Placement {
  readonly at: P3;
  /** Counter-clockwise. [rad] */
  readonly turn: number;
}
export function place(p: P3, where: Placement): P3 {
  const c = Math.cos(where.turn);
  const s = Math.sin(where.turn);
  return [c * p[0] - s * p[1] + where.at[0], s * p[0] + c * p[1] + where.at[1], p[2] + where.at[2]];
}

/**
 * Ring moved inward, each side by its own distance. Sides that run on straight keep their common corner.
 *
 * @param ring  Counter-clockwise.
 * @param distances  One per side (from corner i to i + 1). [m]
 */
export function insetRing(ring: readonly P2[], distances: readonly number[]): P2[] {
  const count = ring.length;
  const lines = ring.map((a, i) => {
    const b = ring[(i + 1) % count]!;
    const size = Math.hypot(b[0] - a[0], b[1] - a[1]);
    const direction: P2 = [(b[0] - a[0]) / size, (b[1] - a[1]) / size];
    const inward: P2 = [-direction[1], direction[0]];
    return { through: [a[0] + inward[0] * distances[i]!, a[1] + inward[1] * distances[i]!] as P2, direction };
  });
  return ring.map((corner, i) => {
    const p = lines[(i + count - 1) % count]!;
    const q = lines[i]!;
    const det = p.direction[0] * q.direction[1] - p.direction[1] * q.direction[0];
    if (Math.abs(det) < 1e-6) {
      return [corner[0] - q.direction[1] * distances[i]!, corner[1] + q.direction[0] * distances[i]!];
    }
    const dx = q.through[0] - p.through[0];
    const dy = q.through[1] - p.through[1];
    const along = (dx * q.direction[1] - dy * q.direction[0]) / det;
    return [p.through[0] + along * p.direction[0], p.through[1] + along * p.direction[1]];
  });
}
