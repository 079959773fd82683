import type { LowSurface } from './low-surface.ts';

/** Ground heights with the gaps filled from their rims inward, ring by ring. */
export function filledIn(low: LowSurface, ground: Uint8Array): Float32Array {
  const { columns, rows } = low;
  const filled = new Float32Array(low.elevation.length).fill(NaN);
  let front: number[] = [];
  for (let k = 0; k < filled.length; k++) if (ground[k]) filled[k] = low.elevation[k]!;
  const beside = (k: number): number[] => {
    const x = k % columns;
    const list: number[] = [];
    if (x > 0) list.push(k - 1);
    if (x + 1 < columns) list.push(k + 1);
    if (k >= columns) list.push(k - columns);
    if (k + columns < columns * rows) list.push(k + columns);
    return list;
  };
  const queued = new Uint8Array(filled.length);
  const extend = (k: number): void => {
    for (const other of beside(k)) {
      if (queued[other] || !Number.isNaN(filled[other]!)) continue;
      queued[other] = 1;
      front.push(other);
    }
  };
  for (let k = 0; k < filled.length; k++) if (ground[k]) extend(k);
  while (front.length > 0) {
    const ring = front;
    front = [];
    const values = ring.map((k) => {
      let sum = 0;
      let count = 0;
      for (const other of beside(k)) {
        if (Number.isNaN(filled[other]!)) continue;
        sum += filled[other]!;
        count++;
      }
      return sum / count;
    });
    ring.forEach((k, i) => (filled[k] = values[i]!));
    ring.forEach(extend);
  }
  return filled;
}
