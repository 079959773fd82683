import type { Surface } from './surface.ts';
import { normalOf, type P3 } from './points.ts';

/** What a camera far away sees from one direction: the nearest surface of every square. */
export interface View {
  /** True when nothing stands between the camera and a point on the surface with this index. */
  sees(x: number, y: number, z: number, surfaceIndex: number): boolean;
}

/** Two surfaces closer than this along the view hide nothing of each other. [m] */
const TOUCH = 0.03;

/**
 * Draws all surfaces into a depth picture: x - tiltX z and y - tiltY z stay fixed along a line of sight.
 *
 * @param tiltX,tiltY  Sideways reach of the camera per metre of height; 0, 0 looks straight down.
 * @param cell  Size of a square of the picture. [m]
 */
export function makeView(surfaces: readonly Surface[], tiltX: number, tiltY: number, cell: number): View {
  let minU = Infinity;
  let minV = Infinity;
  let maxU = -Infinity;
  let maxV = -Infinity;
  for (const s of surfaces) {
    for (const p of s.ring) {
      minU = Math.min(minU, p[0] - tiltX * p[2]);
      maxU = Math.max(maxU, p[0] - tiltX * p[2]);
      minV = Math.min(minV, p[1] - tiltY * p[2]);
      maxV = Math.max(maxV, p[1] - tiltY * p[2]);
    }
  }
  const columns = Math.ceil((maxU - minU) / cell) + 1;
  const rows = Math.ceil((maxV - minV) / cell) + 1;
  const depth = new Float32Array(columns * rows).fill(-Infinity);
  const owner = new Uint16Array(columns * rows);
  surfaces.forEach((s, index) => draw(s, index));
  return {
    sees(x, y, z, surfaceIndex) {
      const c = Math.floor((x - tiltX * z - minU) / cell);
      const r = Math.floor((y - tiltY * z - minV) / cell);
      if (c < 0 || r < 0 || c >= columns || r >= rows) return true;
      const at = r * columns + c;
      return owner[at] === surfaceIndex || z >= depth[at]! - TOUCH;
    },
  };

  function draw(s: Surface, index: number): void {
    const n = normalOf(s.ring);
    const facing = n[2] + n[0] * tiltX + n[1] * tiltY;
    if (Math.abs(facing) < 0.02) return;
    const o = s.ring[0]!;
    const k = n[0] * o[0] + n[1] * o[1] + n[2] * o[2];
    const rings = [s.ring, ...s.holes].map((ring) => ring.map((p: P3): [number, number] => [p[0] - tiltX * p[2] - minU, p[1] - tiltY * p[2] - minV]));
    const all = rings.flat();
    const firstRow = Math.max(0, Math.ceil(Math.min(...all.map((p) => p[1])) / cell - 0.5));
    const lastRow = Math.min(rows - 1, Math.floor(Math.max(...all.map((p) => p[1])) / cell - 0.5));
    for (let r = firstRow; r <= lastRow; r++) {
      const v = (r + 0.5) * cell;
      const cuts: number[] = [];
      for (const ring of rings) {
        for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
          const [ua, va] = ring[j]!;
          const [ub, vb] = ring[i]!;
          if (va > v !== vb > v) cuts.push(ua + ((ub - ua) * (v - va)) / (vb - va));
        }
      }
      cuts.sort((a, b) => a - b);
      for (let i = 0; i + 1 < cuts.length; i += 2) {
        const last = Math.min(columns - 1, Math.floor(cuts[i + 1]! / cell - 0.5));
        for (let c = Math.max(0, Math.ceil(cuts[i]! / cell - 0.5)); c <= last; c++) {
          const z = (k - n[0] * ((c + 0.5) * cell + minU) - n[1] * (v + minV)) / facing;
          const at = r * columns + c;
          if (z > depth[at]!) {
            depth[at] = z;
            owner[at] = index;
          }
        }
      }
    }
  }
}
