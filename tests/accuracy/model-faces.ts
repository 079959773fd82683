import type { Vector3 } from '../../src/geometry/vector.ts';

/** Corners and faces of a model in the plain text form with lines `v` and `f`; corners counted from 0. */
export function readObj(text: string): { vertices: number[][]; faces: number[][] } {
  const lines = text.split('\n').map((line) => line.trim().split(/\s+/));
  return {
    vertices: lines.filter((l) => l[0] === 'v').map((l) => l.slice(1, 4).map(Number)),
    faces: lines.filter((l) => l[0] === 'f').map((l) => l.slice(1).map((v) => Number.parseInt(v, 10) - 1)),
  };
}

/** Of a flat ring, normal upward. */
export function areaAndNormal(ring: readonly Vector3[]): { areaM2: number; normal: Vector3 } {
  const sum = [0, 0, 0];
  ring.forEach((a, i) => {
    const b = ring[(i + 1) % ring.length]!;
    const o = ring[0]!;
    const [p, q] = [a, b].map((c) => c.map((x, k) => x - o[k]!));
    for (let k = 0; k < 3; k++) sum[k]! += (p![(k + 1) % 3]! * q![(k + 2) % 3]! - p![(k + 2) % 3]! * q![(k + 1) % 3]!) / 2;
  });
  const areaM2 = Math.hypot(...sum);
  const up = sum[2]! < 0 ? -1 : 1;
  return { areaM2, normal: [(up * sum[0]!) / areaM2, (up * sum[1]!) / areaM2, (up * sum[2]!) / areaM2] };
}
